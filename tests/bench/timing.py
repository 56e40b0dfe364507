"""Several databases measured in turn: what an operation takes on each, and their ratio.

The machine is shared with others: see the spread, and the processor time, which they do not touch much.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

ROUNDS = 9
LONG, ROUNDS_OF_LONG = 1000.0, 3  # milliseconds of a call, beyond which fewer rounds are taken
AT_LEAST = 0.3  # seconds of one database in a round
Operation = Callable[[], Awaitable[object]]
Servers = Callable[[], Iterable[int]]


@dataclass
class Beside:
    """Milliseconds of a call on each, the smallest first, round by round: passed, and spent computing."""

    wall: list[list[float]] = field(default_factory=list)
    computing: list[list[float]] = field(default_factory=list)

    def ratio(self) -> float:
        """The largest to the smallest, as the clock on the wall saw it: the median of the rounds."""
        return median(each[-1] / each[0] for each in self.wall)

    def says(self) -> str:
        """The ratios of the largest to the smallest with their spread, and the medians behind them."""
        wall, computing = _ratios(self.wall), _ratios(self.computing)
        return (
            f"ratio {median(wall):.2f} ({wall[0]:.2f} to {wall[-1]:.2f}), of processor time "
            f"{median(computing):.2f} ({computing[0]:.2f} to {computing[-1]:.2f}); "
            f"{' -> '.join(_ms(median(side)) for side in zip(*self.wall, strict=True))}; "
            f"computing {' -> '.join(_ms(median(side)) for side in zip(*self.computing, strict=True))}"
        )


def _ratios(rounds: list[list[float]]) -> list[float]:
    return sorted(each[-1] / each[0] for each in rounds)


def _ms(milliseconds: float) -> str:
    return f"{milliseconds:.1f} ms" if milliseconds >= 0.1 else f"{milliseconds * 1000:.0f} us"


async def beside(*operations: Operation, servers: Servers = tuple, rounds: int = ROUNDS) -> Beside:
    """Measures them in turn, so that what else goes on falls on all alike.

    `servers` gives the processes whose processor time belongs to the operation, besides this one.
    """
    enough = [await _enough(operation, servers) for operation in operations]
    calls = [count for count, _ in enough]
    if max(took for _, took in enough) > LONG:
        rounds = min(rounds, ROUNDS_OF_LONG)
    found = Beside()
    for _ in range(rounds):
        took = [await _run(op, count, servers) for op, count in zip(operations, calls, strict=True)]
        found.wall.append([wall for wall, _ in took])
        found.computing.append([computing for _, computing in took])
    return found


async def _enough(operation: Operation, servers: Servers) -> tuple[int, float]:
    """How many calls make a round: so many that what comes along only now and then is in every round; and how
    many milliseconds one takes."""
    await operation()  # warms up
    calls = 1
    wall, _ = await _run(operation, calls, servers)
    while calls * wall / 1000 < AT_LEAST:
        calls *= 2
        wall, _ = await _run(operation, calls, servers)
    return calls, wall


async def _run(operation: Operation, calls: int, servers: Servers) -> tuple[float, float]:
    gc.collect()
    wall, computing = time.perf_counter(), _processor_seconds(servers)
    for _ in range(calls):
        await operation()
    wall, computing = time.perf_counter() - wall, _processor_seconds(servers) - computing
    return wall / calls * 1000, computing / calls * 1000


def _processor_seconds(servers: Servers) -> float:
    """Of this process and of others, to the nanosecond where the system tells it."""
    taken = time.process_time()
    for pid in servers():
        for thread in Path(f"/proc/{pid}/task").glob("*/schedstat"):
            taken += int(thread.read_text().split()[0]) / 1e9
    return taken
