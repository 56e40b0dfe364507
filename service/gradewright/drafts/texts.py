"""Documents as people send and edit them: JSON or YAML in, YAML out, beginning with its step."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import Any

import yaml

from gradewright.core.errors import Fault, Refused, RulebookError
from gradewright.rulebooks.source import Document, from_text
from gradewright.web.body import MAX_DEPTH, check_json
from gradewright.web.problems import malformed

YAML = ("application/yaml", "text/yaml")
_HEAD = re.compile(r"# (d-[0-9]+), step ([0-9]+-[0-9a-f]+)\b")


def from_json(body: bytes) -> Any:
    """What a JSON body says, read strictly; a number with a point keeps its digits as text, as in YAML.

    Raises `RequestRefused`.
    """
    check_json(body)
    return json.loads(body, parse_float=lambda text: str(Decimal(text)))


def from_yaml(text: str) -> Document:
    """The document that a YAML text is. Raises `RulebookError` with the lines of what cannot be taken, or
    `RequestRefused` for text that no database keeps."""
    _expands_nothing(text)
    document = from_text(text).document
    check_json(json.dumps(document).encode())
    return document


def read(body: bytes, media: str) -> tuple[Document, str | None]:
    """The document in a body of either kind, and the text that it was written as, of YAML. Raises as both do;
    `Refused` for JSON that is no object."""
    if media.lower() in YAML:
        try:
            text = body.decode("utf-8")
        except UnicodeDecodeError as error:
            raise malformed(f"The body is not UTF-8: byte {error.start} cannot be read.") from None
        return from_yaml(text), text
    return as_document(from_json(body)), None


def as_document(value: Any) -> Document:
    """The value itself, where it is an object. Raises `Refused`."""
    if not isinstance(value, dict):
        detail = "A rulebook document is an object that begins with its version: { … }."
        raise Refused(detail, faults=(Fault(detail),))
    return value


def to_yaml(document: Document, name: str, tag: str, written: str | None = None) -> str:
    """The document as a file to edit: read again it is the same. Its first line names the draft and step.

    `written`: as somebody wrote it, which is kept word for word, on the lines on which it stands.
    """
    text: str = (
        without_head(written)
        if written is not None
        else yaml.dump(
            document,
            Dumper=yaml.CSafeDumper,
            sort_keys=False,
            allow_unicode=True,
            default_flow_style=None,
            width=110,
        )
    )
    return f"# {name}, step {tag}: keep this line, it says what the file was made from\n{text}"


def as_written(text: str | None, document: Document) -> str | None:
    """A text made to say `document`, word for word but for the words of its top keys that are others there,
    or are not there: its version, its day, its summary. None where that is not all in which the two differ.
    """
    if text is None:
        return None
    body = without_head(text)
    before = from_text(body).document
    others = {name: value for name, value in document.items() if value != before.get(name)}
    root = yaml.compose(body, Loader=yaml.CSafeLoader)
    for key, value in reversed(root.value if isinstance(root, yaml.MappingNode) else []):
        begin, end = key.start_mark.index, value.end_mark.index
        blank = body[begin:end][len(body[begin:end].rstrip()) :]
        if key.value not in document:
            body = body[:begin] + body[end:].removeprefix("\n")
        elif isinstance(others.get(key.value), str):
            body = body[:begin] + _top({key.value: others[key.value]}) + blank + body[end:]
    return body if from_text(body).document == document else None


def _top(pair: Document) -> str:
    dumped: str = yaml.dump(pair, Dumper=yaml.CSafeDumper, allow_unicode=True, width=110)
    return dumped.rstrip()


def without_head(text: str) -> str:
    """A file without the line that says what it was made from."""
    text = text.removeprefix("\ufeff")
    return text.partition("\n")[2] if _HEAD.match(text) else text


def same(text: str, document: Document, written: str | None) -> bool:
    """Whether a file says no more than the one that would be printed, comments included."""
    return without_head(text) == without_head(to_yaml(document, "d-0", "0-0", written))


def made_from(text: str) -> tuple[str, str] | None:
    """The draft and the step that a file's first line names; None where it names none."""
    found = _HEAD.match(text)
    return (found[1], found[2]) if found else None


def _expands_nothing(text: str) -> None:
    """Refuses what a short text can make a huge document of, before any of it is taken in."""
    depth = 0
    try:
        for event in yaml.parse(text, Loader=yaml.CSafeLoader):
            line = event.start_mark.line + 1 if event.start_mark is not None else 1
            if isinstance(event, yaml.AliasEvent):
                raise _refused(line, "`*` repeats what stands elsewhere: write it out")
            depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
            if depth > MAX_DEPTH:
                raise _refused(line, f"nested deeper than {MAX_DEPTH} levels: write it flatter")
    except yaml.YAMLError:
        return  # told in a person's words by the reader itself


def _refused(line: int, problem: str) -> RulebookError:
    return RulebookError(f"line {line}: {problem}", faults=(Fault(problem, line=line),))
