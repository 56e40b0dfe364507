"""Charts of series, drawn one after the other in a thread of their own, so that other requests go on.

What draws is loaded with the first chart: it is large, and most services are never asked for one.
"""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor

from gradewright.prices.chart_words import Charted


class Charts:
    """Draws; the same bytes for the same series."""

    def __init__(self) -> None:
        self._drawing: ThreadPoolExecutor | None = None

    async def svg(self, chart: Charted) -> bytes:
        """The chart as SVG. A request that ends before its turn is not drawn."""
        if self._drawing is None:  # with the first chart, also of an application that is started once more
            self._drawing = ThreadPoolExecutor(1, thread_name_prefix="charts")
        return await asyncio.get_running_loop().run_in_executor(self._drawing, _draw, chart)

    def close(self) -> None:
        """Ends the thread."""
        drawing, self._drawing = self._drawing, None
        if drawing is not None:
            drawing.shutdown(cancel_futures=True)


def _draw(chart: Charted) -> bytes:
    from gradewright.prices.chart_drawing import draw

    return draw(chart)
