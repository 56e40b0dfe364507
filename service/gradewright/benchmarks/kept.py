"""Benchmarks as a worker keeps them: all that was ever recorded, asked as of any revision."""

from __future__ import annotations

import difflib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from gradewright.core.benchmarks import Curve, Reading, curve
from gradewright.core.errors import Fault, NotFound, Path

CURVES_KEPT = 64


class UnknownBenchmark(NotFound):
    """No benchmark of that name, or none yet at the revision asked for."""

    slug = "unknown-benchmark"


@dataclass(frozen=True, slots=True)
class Benchmark:
    """A benchmark and every value of it. An index has neither `currency` nor `unit`."""

    slug: str
    name: str
    currency: str | None
    unit: str | None
    source: str
    revision: int = 0
    readings: Sequence[Reading] = ()

    @property
    def measure(self) -> str:
        """What its values are in: "USD per t", or "points" where it is an index."""
        return "points" if self.currency is None else f"{self.currency} per {self.unit}"


@dataclass(frozen=True, slots=True)
class Benchmarks:
    """All benchmarks, by name; curves that were asked for are kept."""

    by_slug: Mapping[str, Benchmark] = field(default_factory=lambda: MappingProxyType({}))
    _curves: OrderedDict[tuple[str, int], Curve] = field(default_factory=OrderedDict)

    def get(self, slug: str, revision: int | None = None, *, at: Path = ("benchmark",)) -> Benchmark:
        """The benchmark of that name. Raises `UnknownBenchmark`, pointing at `at`, with what is near."""
        found = self.by_slug.get(slug)
        if found is not None and (revision is None or found.revision <= revision):
            return found
        near = tuple(difflib.get_close_matches(slug, self.by_slug, n=3, cutoff=0.5))
        meant = " or ".join(near) or "one of GET /v1/benchmarks"
        detail = f"There is no benchmark {slug[:80]!r}; write {meant}."
        raise UnknownBenchmark(detail, faults=(Fault(detail, at, near),))

    def curve(self, slug: str, revision: int | None = None) -> Curve:
        """The values of a benchmark as known at a revision; without any where it was not there yet."""
        readings = self.by_slug[slug].readings
        # Between two imports nothing changes: what is kept is under the import that was the last then.
        last = max((r.revision for r in readings if revision is None or r.revision <= revision), default=0)
        key = (slug, last)
        if key not in self._curves:
            self._curves[key] = curve(slug, readings, last)
            while len(self._curves) > CURVES_KEPT:
                self._curves.popitem(last=False)
        return self._curves[key]

    def curves(self, revision: int | None = None) -> dict[str, Curve]:
        """The curves of all benchmarks as known at a revision."""
        return {slug: self.curve(slug, revision) for slug in self.by_slug}
