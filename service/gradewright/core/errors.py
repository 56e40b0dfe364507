"""What can go wrong, said so that a person can mend it. Nothing here knows of HTTP.

GradewrightError
├── UnitError          a mass, length, share or price unit that cannot be read
├── CurrencyError      an unknown currency, or two currencies where one is needed
├── ObservationError   a value that an attribute does not take
├── RulebookError      a rulebook document that is not sound
├── UnknownGrade       a grade, alias or label that nobody has defined
├── NoRulebook         no version is in force on the day, or there is none of that name
├── NotFound           a region, yard, posting or valuation that does not exist
├── Conflict           something of that name exists already
│   └── WrongState     it is not at the point where that could be done
├── Refused            a request that is understood and may not be done as asked
├── NotAllowed         the caller's role does not permit it
└── KeyRefused         no key, or one that is not valid
"""

from __future__ import annotations

from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong, where it stands in the input, and what might have been meant.

    `line` (from 1) is known where the input is a file.
    """

    detail: str
    at: Path = ()
    suggestions: tuple[str, ...] = ()
    line: int | None = None

    def under(self, *prefix: str | int) -> Fault:
        """The same fault, seen from a container that holds the faulty value at `prefix`."""
        return Fault(self.detail, (*prefix, *self.at), self.suggestions, self.line)


class GradewrightError(Exception):
    """Base of all; `detail` says what happened, why and what to do; `faults` point at it."""

    slug = "error"

    def __init__(self, detail: str, *, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(detail)
        self.detail = detail
        self.faults = faults


class UnitError(GradewrightError):
    slug = "invalid-request"


class CurrencyError(GradewrightError):
    slug = "currency-mismatch"


class ObservationError(GradewrightError):
    slug = "invalid-request"


class RulebookError(GradewrightError):
    slug = "unsound-rulebook"


class UnknownGrade(GradewrightError):
    slug = "unknown-grade"


class NoRulebook(GradewrightError):
    slug = "no-rulebook-in-force"


class NotFound(GradewrightError):
    slug = "not-found"


class Conflict(GradewrightError):
    slug = "conflict"


class WrongState(Conflict):
    slug = "wrong-state"


class Refused(GradewrightError):
    slug = "invalid-request"


class NotAllowed(GradewrightError):
    slug = "forbidden"


class KeyRefused(GradewrightError):
    slug = "unauthorized"
