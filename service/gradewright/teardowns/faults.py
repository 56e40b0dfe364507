"""All that is wrong with a request, gathered before any of it is told."""

from __future__ import annotations

from dataclasses import dataclass, field

from gradewright.core.errors import Fault, GradewrightError, Path, Refused, UnknownGrade

MOST_FAULTS = 100  # looking for what a wrong word may have meant takes time


@dataclass(slots=True)
class Faults:
    """Faults as they are found, each with the place that it points at."""

    found: list[Fault] = field(default_factory=list)
    kinds: set[type[GradewrightError]] = field(default_factory=set)

    @property
    def enough(self) -> bool:
        """Whether to look no further."""
        return len(self.found) >= MOST_FAULTS

    def wrong(self, detail: str, at: Path, suggestions: tuple[str, ...] = ()) -> None:
        """Something is wrong at a place."""
        self.found.append(Fault(detail, at, suggestions))
        self.kinds.add(Refused)

    def told(self, error: GradewrightError, at: Path) -> None:
        """What a reader said of the value at a place."""
        self.found += [fault.under(*at) for fault in error.faults or (Fault(error.detail),)]
        self.kinds.add(UnknownGrade if isinstance(error, UnknownGrade) else Refused)

    def check(self) -> None:
        """Raise `UnknownGrade` where nothing else is wrong, else `Refused`; with every fault."""
        if not self.found:
            return
        del self.found[MOST_FAULTS:]
        more = f" (and {len(self.found) - 1} more)" if len(self.found) > 1 else ""
        kind = UnknownGrade if self.kinds == {UnknownGrade} else Refused
        raise kind(self.found[0].detail + more, faults=tuple(self.found))
