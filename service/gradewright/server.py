"""The first process of a server, which starts workers and holds nothing but what that takes.

`gradewright serve` becomes this once it has looked at the database: what it loaded for that would stay beside
the workers, and be of no use.
"""

from __future__ import annotations

import os
import sys
from typing import NoReturn

from granian import Granian
from granian.constants import Interfaces

APPLICATION = "gradewright.serving:application"
STOPS_WITHIN = 20  # seconds, to finish the answers that are on their way
FEW_ARENAS = {"MALLOC_ARENA_MAX": "2"}
"""How many heaps the C library keeps: as it is, one for each thread, of which most is free and stays."""


def become(host: str, port: int, workers: int) -> NoReturn:
    """Turns this process into a server, which has its id. A number of heaps that is asked for is kept."""
    sys.stdout.flush()
    sys.stderr.flush()
    # Without the folder it was started in: nothing in there is the program's.
    command = [sys.executable, "-P", "-m", __name__, host, str(port), str(workers)]
    os.execve(sys.executable, command, FEW_ARENAS | os.environ)  # noqa: S606 - no shell is meant


def serve(host: str, port: int, workers: int) -> None:
    """Serves until it is stopped."""
    Granian(
        APPLICATION,
        address=host,
        port=port,
        workers=workers,
        interface=Interfaces.ASGI,
        factory=True,
        log_access=False,
        # A client that takes nothing off the line would else keep its worker from ever ending.
        workers_kill_timeout=STOPS_WITHIN,
    ).serve()


if __name__ == "__main__":
    serve(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
