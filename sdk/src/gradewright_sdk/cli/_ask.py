"""Grading one part by asking for one test after the other, until it is decided, not worth it, or nothing more
can be asked.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from rich.padding import Padding

from gradewright_sdk._exceptions import InvalidRequest, sentence
from gradewright_sdk.cli._cautions import certain
from gradewright_sdk.cli._layout import hanging
from gradewright_sdk.cli._narrowing import progress
from gradewright_sdk.cli._rows import LISTED
from gradewright_sdk.cli._show import say
from gradewright_sdk.cli._values import BadValue, near, observation

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._inputs import Observation
    from gradewright_sdk._models import Attribute, Grading, Rulebook

SKIP = frozenset({"", "don't know", "dont know"})
EXPLAIN = "?"
STOP = frozenset({"stop", "quit", "q"})
Grade = Callable[[Mapping[str, "Observation"], Collection[str]], "Grading"]


def given(pairs: list[str], rulebook: Rulebook) -> dict[str, Observation]:
    """Observations written attr=value. Raises BadValue naming what is wrong."""
    observed: dict[str, Observation] = {}
    for pair in pairs:
        name, sign, text = pair.partition("=")
        name = name.strip().casefold().replace("-", "_")
        attribute = rulebook.attributes.get(name)
        if not sign:
            raise BadValue(f"{pair!r} is not an observation; write attribute=value, such as metal=copper")
        if attribute is None:
            says = f"{name!r} is no attribute of the rulebook ({LISTED})"
            raise BadValue(says, near(name, rulebook.attributes))
        if name in observed:
            raise BadValue(f"{name} is given twice")
        try:
            observed[name] = observation(attribute, text)
        except BadValue as error:
            raise BadValue(f"{name}: {error.says}", error.suggestions) from error
    return observed


@dataclass(slots=True)
class Dialogue:
    """Asks a person. `read` reads one line (raises EOFError at the end of input)."""

    grade: Grade
    rulebook: Rulebook
    console: Console
    read: Callable[[str], str]
    observed: dict[str, Observation]
    skipped: set[str] = field(default_factory=set)
    left: int | None = None
    warned: set[str] = field(default_factory=set)

    def run(self) -> Grading:
        """The last grading: decided, not worth more, or as far as it went."""
        grading = self.grade(self.observed, self.skipped)
        while grading.outcome == "undecided" and grading.not_worth is None:
            name = self._next(grading)
            if name is None:
                words = 'Nothing more can be asked: what is still open was answered with "don\'t know".'
                self.console.print(
                    say(words if self.skipped else "The rulebook has no further test.", "yellow")
                )
                return grading
            self._progress(grading)
            offered = grading.next_test.choices if grading.next_test is not None else None
            answer = self._ask(name, self.rulebook.attributes[name], offered or {})
            if answer is None:
                return grading
            if answer == "":
                self.skipped.add(name)
                grading = self.grade(self.observed, self.skipped)
                continue
            try:
                grading = self.grade({**self.observed, name: answer}, self.skipped)
            except InvalidRequest as error:
                self.console.print(say(f"That was not taken: {error.detail}", "yellow"))
                for fault in error.errors:
                    self.console.print(say(f"  {fault.detail}", "yellow"))
                continue
            self.observed[name] = answer
        return grading

    def _next(self, grading: Grading) -> str | None:
        """The attribute of the service's next test, if it is one of this rulebook's."""
        wanted = grading.next_test.attribute if grading.next_test is not None else None
        return wanted if wanted in self.rulebook.attributes and wanted not in self.skipped else None

    def _progress(self, grading: Grading) -> None:
        for line in progress(grading, self.left, self.skipped):
            self.console.print(line)
        self.left = len(grading.candidates)
        # Before the next test: whoever looks closer should know what has become certain.
        for warning in certain([one for one in grading.cautions if one.id not in self.warned]):
            self.console.print(warning)
        self.warned.update(one.id for one in grading.cautions if one.certain)

    def _ask(self, name: str, attribute: Attribute, offered: Mapping[str, str]) -> Observation | None:
        """The answer; "" for don't know, None to stop. Asks again until it can be read.

        `offered`: the choices that the part can have; others are taken too, if they are written out.
        """
        self.console.print()
        self.console.print(say(attribute.asks or name, "bold"))
        choices = offered or attribute.choices or {}
        self._how_to_tell(attribute, choices)
        answers = list(choices)
        while True:
            try:
                text = self.read(f"{name} (Enter = don't know, ? = explain, stop = end here)").strip()
            except EOFError:
                return None
            if text.casefold() in STOP:
                return None
            if text.casefold() in SKIP:
                return ""
            if text == EXPLAIN:
                self._how_to_tell(attribute, choices)
                self.console.print(Padding(hanging(_keys(attribute, choices)), (0, 0, 0, 2)))
                continue
            if text.isascii() and text.isdigit() and 1 <= int(text) <= len(answers):
                return answers[int(text) - 1]
            try:
                return observation(attribute, text)
            except BadValue as error:
                self.console.print(say(sentence(error.says, error.suggestions), "yellow"))

    def _how_to_tell(self, attribute: Attribute, choices: Mapping[str, str]) -> None:
        """The answers that there are, the test, and what to beware of."""
        if choices:
            numbered = (
                (f"{n})", f"{choice}{f': {how}' if how else ''}")
                for n, (choice, how) in enumerate(choices.items(), 1)
            )
            self.console.print(Padding(hanging(numbered), (0, 0, 0, 2)))
        for line in _help(attribute):
            self.console.print(Padding(say(line), (0, 0, 0, 2)))


def _keys(attribute: Attribute, choices: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """What each way of answering means."""
    if choices:
        yield "number", "or its word: the part is like that."
    elif attribute.kind == "yes_no":
        yield "yes, no", "what the test showed."
    yield "Enter", "you do not know, or cannot test it: another test is asked for, if there is one."
    yield "stop", "ends here, with what the part can still be."


def _help(attribute: Attribute) -> Iterator[str]:
    if attribute.kind == "yes_no":
        yield "yes or no"
    elif attribute.kind in {"length", "share", "area", "density"}:
        yield f"a {attribute.kind} with its unit"
    if attribute.test:
        takes = f" ({attribute.minutes:f} min)" if attribute.minutes is not None else ""
        yield f"Test: {attribute.test}{takes}"
    if attribute.beware:
        yield f"Beware: {attribute.beware}"


def as_arguments(observed: Mapping[str, Any]) -> str:
    """Observations as they are written on the command line."""
    words = {True: "yes", False: "no"}
    texts = {
        name: words[value] if isinstance(value, bool) else str(value) for name, value in observed.items()
    }
    return " ".join(f'"{name}={text}"' if " " in text else f"{name}={text}" for name, text in texts.items())
