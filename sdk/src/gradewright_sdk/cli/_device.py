"""A file that says what a device is made of, YAML or JSON, with the line on which everything stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

import yaml

from gradewright_sdk.cli._files import FileFault, FileFaults, as_text, pointer_steps, without_name

if TYPE_CHECKING:
    from gradewright_sdk._exceptions import Fault

TYPED = frozenset({"count", "must_come_off", "observed", "within"})
WHAT = ("device", "parts")
FIELDS = (
    "name", "count", "weight", "weight_each", "observed", "grade", "minutes", "must_come_off", "cautions",
    "opens", "kind", "parts", "within", "low", "likely", "high", "how", "cost", "leftover", "charge", "per",
)  # fmt: skip
NEAR = 0.75  # two letters that changed places in a word of six
NO_FIELD = "there is no field of this name here"
OF_A_REQUEST = frozenset({*WHAT, "hour_rate", "weighing_minutes", "lots"})
TEMPLATE = """\
# A device and what is in it. Weights have their unit; what is not weighed is guessed from low to high, or
# left out where the device has a kind (kind: treadmill): then what is usual for its grade stands in.
# A part has a grade, or what was observed of it, or neither where nothing is known.
# What is deeper than thirty parts in one another is a list: the device first, then each part behind the one
# that it is within, by its place from 0:  - {name: motor, within: 0, weight: 9 lb}
name: treadmill
weight: 70 kg
grade: light-iron
cautions: ["The belt is under tension: hold it before the bolts come out."]
opens: {how: piece-by-piece, minutes: 5, leftover: {grade: light-iron}}
parts:
  - name: drive motor
    weight: {low: 3 kg, likely: 4 kg, high: 6 kg}
    observed: {assembly: motor, winding_metal: copper}
    minutes: 6                    # to take it off
    opens: {how: all-at-once, minutes: 9, leftover: {grade: light-iron}}
    parts:
      - {name: windings, weight: {low: 0.4 kg, likely: 0.6 kg, high: 0.9 kg}, grade: copper-no2}
  - {name: cord, weight: 1 lb, grade: wire-50, minutes: 0.5}
  - {name: control board, weight: 250 g, grade: boards-low, minutes: 2}
"""


@dataclass(slots=True)
class DeviceFile:
    """What the file says: the device, as a tree or as a list of `parts`, and what else it gives of a request;
    and where everything stands. `wrapped`: the device is a member of what the file is.
    """

    device: Mapping[str, object] | None
    parts: Sequence[Mapping[str, object]] | None
    more: Mapping[str, Any]
    lines: Mapping[str, int]
    wrapped: bool

    def locate(self, fault: Fault) -> FileFault | None:
        """The place in the file that a fault of the service points at; None if it is not in it."""
        steps = pointer_steps(fault.pointer)[1:]
        if not self.wrapped:
            if steps[:1] != ["device" if self.parts is None else "parts"]:
                return None
            steps = steps[1:]
        at = list(steps)
        while "/".join(at) not in self.lines and at:
            at.pop()
        column = steps[-1] if steps and not steps[-1].isdigit() else ""
        says, suggestions = without_name(fault.detail, column), fault.suggestions
        meant = get_close_matches(column, FIELDS, n=1, cutoff=NEAR) if says.startswith(NO_FIELD) else ()
        if meant and column not in FIELDS:
            says, suggestions = NO_FIELD, tuple(meant)
        return FileFault(self.lines.get("/".join(at), 1), column, says, suggestions)


def read_device(data: bytes) -> DeviceFile:
    """The device in a file. Raises FileFaults where it cannot be read."""
    text = as_text(data)
    loader = yaml.SafeLoader(text)
    try:
        root = loader.get_single_node()
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = 1 if mark is None else mark.line + 1
        says = getattr(error, "problem", None) or "it cannot be read"
        raise FileFaults([FileFault(line, "", f"this is neither YAML nor JSON: {says}")]) from error
    finally:
        loader.dispose()
    nodes = root.value if isinstance(root, yaml.SequenceNode) and root.value else [root]
    if root is None or not all(isinstance(one, yaml.MappingNode) for one in nodes):
        raise FileFaults([FileFault(1, "", "there is no device here; --template prints one to begin with")])
    reader = _Reader()
    document = reader.value(root, "")
    if reader.faults:
        raise FileFaults(reader.faults)
    if isinstance(document, list):
        return DeviceFile(None, document, {}, reader.lines, wrapped=False)
    what = "device" if "device" in document else None
    if what is None and "parts" in document and document.keys() <= OF_A_REQUEST:
        what = "parts"
    if what is None:
        return DeviceFile(document, None, {}, reader.lines, wrapped=False)
    for name in document.keys() - OF_A_REQUEST:
        beside = ", ".join(sorted(OF_A_REQUEST - {*WHAT}))
        says = f"{name} does not stand beside {what}, but {beside} do"
        reader.faults.append(FileFault(reader.lines[name], name, says))
    if reader.faults:
        raise FileFaults(reader.faults)
    if {*WHAT} <= document.keys():
        raise FileFaults([FileFault(reader.lines["parts"], "parts", "give either device or parts, a list")])
    more = {name: value for name, value in document.items() if name != what}
    return DeviceFile(document.get("device"), document.get("parts"), more, reader.lines, wrapped=True)


@dataclass(slots=True)
class _Reader:
    """Makes values of YAML's nodes. Text stays text, as numbers do that the service takes as text; a count
    and what was observed may be whole numbers, true or false.
    """

    lines: dict[str, int] = field(default_factory=dict)
    faults: list[FileFault] = field(default_factory=list)

    def value(self, node: yaml.Node, at: str, *, typed: bool = False) -> Any:
        line = node.start_mark.line + 1
        self.lines[at] = line
        if isinstance(node, yaml.SequenceNode):
            return [
                self.value(one, _under(at, str(index)), typed=typed) for index, one in enumerate(node.value)
            ]
        if isinstance(node, yaml.MappingNode):
            found: dict[str, Any] = {}
            for key, value in node.value:
                word = str(key.value)
                if word in found:
                    self.faults.append(FileFault(key.start_mark.line + 1, word, "this is said twice"))
                found[word] = self.value(value, _under(at, word), typed=typed or word in TYPED)
                self.lines[_under(at, word)] = key.start_mark.line + 1
            return found
        text = str(node.value)
        quoted = getattr(node, "style", None) is not None
        if not quoted and text in {"", "null", "~"}:
            return None
        if quoted or not typed:
            return text
        if text in {"true", "false"}:
            return text == "true"
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else text


def _under(at: str, step: str) -> str:
    return f"{at}/{step}" if at else step
