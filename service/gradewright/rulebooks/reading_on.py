"""Reading a document whose shape has faults as far as it can be, so that all its faults are told at once."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from gradewright.core.errors import Fault, Path, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.reader import Reader
from gradewright.rulebooks.shape import DocumentShape
from gradewright.rulebooks.source import Document
from gradewright.rulebooks.wording import fault_of_shape

MENDED = {"missing", "extra_forbidden"}
ANY_WORD = "-"


def read_on(document: Document) -> tuple[Rulebook | None, tuple[Fault, ...]]:
    """Every fault that can be seen in a document, and what it describes.

    Keys too many are passed over, and any word stands for those that lack. Where there are faults the
    rulebook is good for its version, its days and its words alone; None where nothing can be read.
    """
    errors = _errors(document)
    faults = tuple(fault_of_shape(document, error) for error in errors)
    mended = _mended(document, errors, faults) if errors else document
    try:
        reader = Reader(mended)
    except RulebookError:
        return None, faults
    rulebook = reader.rulebook("")
    stand_ins = [fault.at for fault, error in zip(faults, errors, strict=True) if error["type"] == "missing"]
    found = [one for one in reader.faults if not any(one.at[: len(at)] == at for at in stand_ins)]
    return rulebook, (*faults, *found)


def _errors(document: Document) -> Sequence[ErrorDetails]:
    try:
        DocumentShape.model_validate(document)
    except ValidationError as error:
        return error.errors(include_url=False)
    return ()


def _mended(document: Document, errors: Sequence[ErrorDetails], faults: Sequence[Fault]) -> Document:
    """A copy without the keys that are too many, and with a word for those that lack."""
    mended = copy.deepcopy(document)
    for error, fault in zip(errors, faults, strict=True):
        around = _around(mended, fault.at) if error["type"] in MENDED else None
        if around is None:
            continue
        if error["type"] == "missing":
            around[fault.at[-1]] = ANY_WORD
        else:
            around.pop(fault.at[-1], None)
    return mended


def _around(document: Document, at: Path) -> dict[str | int, Any] | None:
    """The mapping that a key stands in, or would."""
    found: Any = document
    for step in at[:-1]:
        try:
            found = found[step]
        except (KeyError, IndexError, TypeError):
            return None
    return found if isinstance(found, dict) and at else None
