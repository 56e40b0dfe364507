"""The strips below a chart's prices: how many stand behind each point, and how old they are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from matplotlib.axes import Axes

from gradewright.prices.chart_days import named_days
from gradewright.prices.chart_page import TEXT
from gradewright.prices.chart_svg import LIGHT
from gradewright.prices.chart_words import Charted
from gradewright.prices.series_schemas import PointOut


def draw_counts(axes: Axes, chart: Charted) -> None:
    """How many yards, or prices of the yard, each point rests on."""
    points = chart.told.points
    _strip(axes, points, [point.entries if chart.at_yard else point.yards for point in points])
    axes.set_xticks([])


def draw_ages(axes: Axes, chart: Charted) -> None:
    """How many days before each point its newest price was seen, filled, and its oldest, as a line."""
    points = chart.told.points
    newest = [point.newest_age_days or 0 for point in points]
    oldest = [point.oldest_age_days or 0 for point in points]
    most = _strip(axes, points, newest, at_least=max(oldest))
    edges = _edges(points)
    axes.stairs(oldest, edges, color=LIGHT["ink"], linewidth=1.5, baseline=None)
    axes.set_ylim(0, most)
    _name_days(axes, points)


def _strip(axes: Axes, points: Sequence[PointOut], figures: Sequence[int], at_least: int = 1) -> int:
    """A filled strip of whole numbers from nothing to the most, which is returned."""
    most = max(1, at_least, *figures)
    axes.set_xlim(*span(points))
    axes.set_ylim(0, most)
    axes.stairs(figures, _edges(points), fill=True, color=LIGHT["count"], linewidth=0)
    axes.axhline(0, color=LIGHT["quiet"], linewidth=1, clip_on=False)
    axes.set_yticks([0, most], labels=["0", str(most)])
    return most


def _name_days(axes: Axes, points: Sequence[PointOut]) -> None:
    days = named_days(points[0].on, points[-1].on)
    names = [name.partition("\n") for _, name in days]
    at = [day.toordinal() for day, _ in days]
    axes.set_xticks(at, labels=[name for name, _, _ in names], va="baseline")
    axes.tick_params(axis="x", pad=TEXT + 4)
    for place, (_, _, year) in zip(at, names, strict=True):
        if year:
            axes.annotate(
                year, (place, 0), (0, -(2 * TEXT + 8)), textcoords="offset points", ha="center",
                color=LIGHT["quiet"], fontsize=TEXT, annotation_clip=False,
            )  # fmt: skip


def _edges(points: Sequence[PointOut]) -> list[float]:
    """Where the room of each point begins and ends: halfway to its neighbours."""
    (first, last), days = span(points), days_of(points)
    return [first, *((one + other) / 2 for one, other in pairwise(days)), last]


def span(points: Sequence[PointOut]) -> tuple[float, float]:
    """From before the first point to behind the last, so that both have room."""
    days = days_of(points)
    half = (days[-1] - days[0]) / (len(days) - 1) / 2 if len(days) > 1 else 0.5
    return days[0] - half, days[-1] + half


def days_of(points: Iterable[PointOut]) -> list[float]:
    """Where the points stand."""
    return [float(point.on.toordinal()) for point in points]
