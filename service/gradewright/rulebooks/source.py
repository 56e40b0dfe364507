"""A rulebook file as text: its values, and the line on which each of them stands.

Values are taken as they are written: a number with a point keeps every digit as text, a day its form, and
what YAML would turn into another number than a person reads (0x10, 010, 12:30) is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation
from pathlib import Path as File
from typing import Any

import yaml

from gradewright.core.errors import Fault, Path, RulebookError
from gradewright.rulebooks.notyaml import in_words

Document = dict[str, Any]
TAG = "tag:yaml.org,2002:"
WHOLE_NUMBER = re.compile(r"-?(0|[1-9][0-9]{0,17})")


@dataclass(frozen=True, slots=True)
class Source:
    """A document as plain values, and the line (from 1) of every key and entry in it."""

    document: Document
    lines: Mapping[Path, int]

    def line(self, at: Path) -> int:
        """The line of a place, or of what is nearest around it where the file does not have it."""
        while at and at not in self.lines:
            at = at[:-1]
        return self.lines.get(at, 1)

    def placed(self, faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
        """The faults with their lines, in the order of the file."""
        found = (replace(fault, line=self.line(fault.at)) for fault in faults)
        return tuple(sorted(found, key=lambda fault: fault.line or 0))


def from_file(path: File) -> Source:
    """The source in a file; `RulebookError` has every fault with its line where it cannot be taken in."""
    data = path.read_bytes()
    try:
        return from_text(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        line, byte = data.count(b"\n", 0, error.start) + 1, data[error.start]
        raise _refused(
            line, f"the byte 0x{byte:02x} is not UTF-8: save the file as UTF-8 and write the letter again"
        ) from None


def from_text(text: str) -> Source:
    """The source that a text is; `RulebookError` has every fault with its line where it is none."""
    try:
        root = yaml.CSafeLoader(text).get_single_node()
    except yaml.YAMLError as error:
        raise _refused(*in_words(error, text)) from None
    if not isinstance(root, yaml.MappingNode):
        raise _refused(1, "the document is not a mapping: it must begin with `version:`")
    reading = _Reading()
    document = reading.value(root, ())
    if reading.faults:
        told = "; ".join(f"line {fault.line}: {fault.detail}" for fault in reading.faults[:3])
        raise RulebookError(told, faults=tuple(reading.faults))
    return Source(document, reading.lines)


def _refused(line: int, problem: str) -> RulebookError:
    return RulebookError(f"line {line}: {problem}", faults=(Fault(problem, line=line),))


@dataclass(slots=True)
class _Reading:
    """One walk over the nodes: their values, their lines, and what cannot be taken as written."""

    lines: dict[Path, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    around: set[int] = field(default_factory=set)

    def value(self, node: yaml.Node, at: Path) -> Any:
        if isinstance(node, yaml.ScalarNode):
            return self._scalar(node, at)
        if id(node) in self.around:
            return self._fault(node, at, "this contains itself: write it out without `&` and `*`")
        if node.tag not in (f"{TAG}map", f"{TAG}seq"):
            return self._tagged(node, at)
        self.around.add(id(node))
        found = self._mapping(node, at) if isinstance(node, yaml.MappingNode) else self._list(node, at)
        self.around.discard(id(node))
        return found

    def _mapping(self, node: yaml.MappingNode, at: Path) -> Document:
        found: Document = {}
        for key, value in node.value:
            if not isinstance(key, yaml.ScalarNode):
                self._fault(key, at, "a name is one word or text, not a list or a mapping")
                continue
            name, place = key.value, (*at, key.value)
            if name in found:
                first = self.lines[place]
                self._fault(
                    key, place, f"{name!r} stands here a second time, after line {first}: keep one of them"
                )
                continue
            self.lines[place] = key.start_mark.line + 1
            found[name] = self.value(value, place)
        return found

    def _list(self, node: yaml.Node, at: Path) -> list[Any]:
        found = []
        for number, item in enumerate(node.value):
            self.lines[*at, number] = item.start_mark.line + 1
            found.append(self.value(item, (*at, number)))
        return found

    def _scalar(self, node: yaml.ScalarNode, at: Path) -> Any:
        text: str = node.value
        kind = node.tag.removeprefix(TAG)
        if kind in ("str", "timestamp"):
            return text
        if kind == "null":
            return None
        if kind == "bool":
            return text.lower() in ("true", "yes", "on")
        return (
            self._number(node, at) if kind in ("int", "float", "merge", "value") else self._tagged(node, at)
        )

    def _number(self, node: yaml.ScalarNode, at: Path) -> int | str | None:
        text: str = node.value
        if node.tag == f"{TAG}int" and WHOLE_NUMBER.fullmatch(text):
            return int(text)
        if node.tag == f"{TAG}float":
            try:
                return str(Decimal(text))
            except InvalidOperation:
                self._fault(node, at, f"{text!r} is not a number that can be kept exactly")
                return None
        self._fault(node, at, f"{text[:40]!r} is not a number in plain digits: put text in quotes")
        return None

    def _tagged(self, node: yaml.Node, at: Path) -> None:
        shown = node.tag.replace(TAG, "!!")
        self._fault(node, at, f"`{shown}` means nothing here: leave out what begins with `!`")

    def _fault(self, node: yaml.Node, at: Path, problem: str) -> None:
        self.faults.append(Fault(problem, at, line=node.start_mark.line + 1))
