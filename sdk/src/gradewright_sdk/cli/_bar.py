"""The bar of what the service takes long for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from gradewright_sdk.cli._failures import err


@contextmanager
def bar(about: str) -> Iterator[Callable[[str, int, int], None]]:
    """A bar on standard error while the service goes on, where that is a terminal."""
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = err()
    # What turns says that it goes on where one thing takes long; in signs that every terminal has.
    turns, elapsed = SpinnerColumn("line"), TimeElapsedColumn()
    what_now, far = (TextColumn(f"{{task.{name}}}", markup=False) for name in ("description", "fields[far]"))
    columns = (turns, what_now, BarColumn(), far, elapsed)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(about, total=None, far="")
        yield lambda what, done, of: bar.update(
            task,
            description=f"{about}: {what}" if what else about,
            completed=done,
            total=of or None,
            far=f"{done}/{of}" if of else "",
        )
