"""Which grades are paid less than another, so that a yard may accept what was brought as those."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

Cheaper = Callable[[str, str], bool]


def _never(_: str, __: str) -> bool:
    return False


@dataclass(frozen=True, slots=True)
class Lower:
    """What is below a grade. `kin`: as which its buyers take it too, with how many steps down each is.
    `family`: whether the second grade is another of the family of the first, and paid less; `cheaper`:
    whether it is paid less at all.
    """

    kin: Callable[[str], Mapping[str, int]]
    family: Cheaper = _never
    cheaper: Cheaper = _never

    def near(self, grade: str, lower: str) -> bool:
        """Whether a grade is below another in what the trade sorts together."""
        return lower in self.kin(grade) or self.family(grade, lower)
