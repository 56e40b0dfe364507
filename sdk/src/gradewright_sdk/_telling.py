"""Answers that tell how far the service is: JSON Lines, the last with what was asked for, or the problem."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from . import _problems
from ._base import Answer
from ._reading import reads

if TYPE_CHECKING:
    from ._models import Whole

    W = TypeVar("W", bound=Whole)

Progress = Callable[[str, int, int], None]
"""Told what is being done, how far it is, and how much there is."""
ACCEPT = "application/jsonl, application/json;q=0.5, application/problem+json;q=0.1"
PROBLEM = {"content-type": "application/problem+json"}


@dataclass(slots=True)
class Hearing:
    """Takes the bytes of an answer as they come, and tells of each whole line how far it is."""

    tell: Progress
    rest: bytes = b""

    def __call__(self, chunk: bytes) -> None:
        *lines, self.rest = (self.rest + chunk).split(b"\n")
        for line in lines:
            told = _object(line)
            done, of = told.get("done"), told.get("of")
            if isinstance(done, int) and isinstance(of, int):
                self.tell(str(told.get("what", "")), done, of)


def telling(progress: Progress | None) -> dict[str, Any]:
    """How a call asks to be told; nothing where nobody listens."""
    return {} if progress is None else {"accept": ACCEPT, "heard": Hearing(progress)}


def reads_last(model: Callable[[], type[W]], name: str) -> Callable[[Answer], W]:
    """Reader of an answer that is one `model`, or lines of which the last has it under `name`."""
    whole = reads(model)

    def read(answer: Answer) -> W:
        if not answer.headers.get("content-type", "").startswith("application/jsonl"):
            return whole(answer)
        last = _object(answer.content.rstrip(b"\n").rpartition(b"\n")[2])
        problem = last.get("problem")
        if isinstance(problem, Mapping):
            told = replace(answer, status=int(problem["status"]), headers={**answer.headers, **PROBLEM})
            _problems.raise_problem(_only(told, problem))
        if name not in last:
            raise _problems.unexpected(answer, "its last line has not come")
        return whole(_only(answer, last[name]))

    return read


def _only(answer: Answer, value: object) -> Answer:
    """The answer as if this had been all of it."""
    return replace(answer, content=json.dumps(value, ensure_ascii=False).encode())


def _object(line: bytes) -> dict[str, Any]:
    """What a line says; nothing where it is no object."""
    try:
        told = json.loads(line)
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}
