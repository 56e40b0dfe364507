"""A chart's page: lines of text as wide as a phone, what line and band are, and room for drawings.

Sets matplotlib up for all charts: letters stay letters, and the same chart has the same bytes.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from functools import lru_cache

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from gradewright.prices.chart_svg import LIGHT, clean
from gradewright.prices.chart_words import Charted

WIDTH = 360  # units of the drawing, as many as a narrow phone has pixels
MARGIN = 12
TEXT = 14.0
LEADING = 1.3
MOST_LINES = 4
DOTTED, DASHED = (0, (1, 2.2)), (0, (2.4, 1.8))

mpl.rcdefaults()
mpl.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "gradewright", "font.family": "DejaVu Sans"})
# Letters that the measuring font lacks are drawn by the reader's own.
warnings.filterwarnings("ignore", message="Glyph .* missing from font")
_MEASURE = TextToPath()


@dataclass(slots=True)
class Page:
    """A page that grows downwards: text in lines as long as it is wide, and room for drawings."""

    at: float = MARGIN
    texts: list[tuple[float, float, str, float, str, str]] = field(default_factory=list)
    swatches: list[tuple[float, float, str]] = field(default_factory=list)

    def write(
        self, text: str, size: float, role: str, *, weight: str = "normal", left: float = MARGIN
    ) -> None:
        for line in lines_of(clean(text), size, weight, WIDTH - MARGIN - left):
            self.at += size * LEADING
            self.texts.append((left, self.at - size * 0.3, line, size, role, weight))

    def legend(self, chart: Charted) -> None:
        """What lines, band and dots are, in one line or two."""
        keys = [("likely", "likely"), ("spread", "low to high")]
        if chart.thin:
            keys.append(("thin", chart.few))
        if chart.turns:
            keys.append(("turn", "new rulebook"))
        across = float(MARGIN)
        self.at += TEXT * LEADING
        for kind, words in keys:
            wide = 26 + width_of(words, TEXT, "normal") + 14
            if across + wide - 14 > WIDTH - MARGIN:
                across, self.at = float(MARGIN), self.at + TEXT * LEADING
            self.swatches.append((across, self.at - TEXT * 0.62, kind))
            self.texts.append((across + 26, self.at - TEXT * 0.3, words, TEXT, "ink", "normal"))
            across += wide
        self.at += 8

    def leave(self, room: float) -> None:
        self.at += room

    def place(self, room: float) -> tuple[float, float]:
        self.at += room
        return self.at, room

    def share(self, placed: tuple[float, float]) -> tuple[float, float]:
        """Bottom and height as shares of the page."""
        bottom, room = placed
        return 1 - bottom / self.high, room / self.high

    @property
    def high(self) -> float:
        return self.at + MARGIN

    def figure(self) -> Figure:
        figure = Figure(figsize=(WIDTH / 72, self.high / 72), facecolor=LIGHT["paper"])
        for x, y, line, size, role, weight in self.texts:
            figure.text(
                x / WIDTH, 1 - y / self.high, line, color=LIGHT[role], fontsize=size, fontweight=weight,
                parse_math=False,
            )  # fmt: skip
        whole = figure.add_axes((0, 0, 1, 1), xlim=(0, WIDTH), ylim=(self.high, 0))
        whole.set_axis_off()
        for x, y, kind in self.swatches:
            ends = (x, x + 20)
            if kind == "likely":
                whole.plot(ends, (y, y), color=LIGHT["likely"], linewidth=2.5, solid_capstyle="round")
            elif kind == "spread":
                whole.fill(
                    (x, x + 20, x + 20, x), (y - 6, y - 6, y + 6, y + 6), color=LIGHT["spread"], linewidth=0
                )
            elif kind == "thin":
                whole.plot(ends, (y, y), color=LIGHT["likely"], linewidth=2.5, linestyle=DOTTED)
            else:
                whole.plot(
                    (x + 10, x + 10), (y - 7, y + 7), color=LIGHT["quiet"], linewidth=1.5, linestyle=DASHED
                )
        return figure


def width_of(text: str, size: float, weight: str) -> float:
    """How wide a text is in a wide font; the reader's own is hardly wider."""
    return sum(_letter(letter, size, weight) for letter in text)


@lru_cache(maxsize=4096)
def _letter(letter: str, size: float, weight: str) -> float:
    font = FontProperties(family="DejaVu Sans", size=size, weight=weight)
    two, one = (
        _MEASURE.get_text_width_height_descent(text, font, ismath=False)[0] for text in (letter * 2, letter)
    )
    return float(two - one)  # how far the next one stands, which for a space is all there is


def lines_of(text: str, size: float, weight: str, wide: float) -> list[str]:
    """The text in lines of that width; a word that is too long is broken, and what is too much is cut off."""
    lines = [""]
    for word in text.split(" "):
        line = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(line, size, weight) > wide:
            lines.append("")
            line = word
        while width_of(line, size, weight) > wide:
            fits = next(
                n for n in range(len(line) - 1, 0, -1) if n == 1 or width_of(line[:n], size, weight) <= wide
            )
            lines[-1] = line[:fits]
            lines.append("")
            line = line[fits:]
        lines[-1] = line
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], lines[MOST_LINES - 1][:-1] + "\u2026"]
    return lines
