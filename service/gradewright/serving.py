"""What a server imports: the application, its modules read and wired while cycles are hardly looked for.

Nearly all that a start makes stays for as long as the service runs. To look through it again and again while
it grows took a fifth of the start.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gradewright.collector import few_heaps, seldom

if TYPE_CHECKING:
    from litestar import Litestar


def application() -> Litestar:
    """The application as `gradewright serve` starts it: by the environment, with its log."""
    few_heaps()
    with seldom():
        from gradewright.asgi import serving

        return serving()
