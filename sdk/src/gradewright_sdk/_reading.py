"""Readers of answers. The result types are loaded with the first answer, not with the client: they cost
the most.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from ._base import Answer

if TYPE_CHECKING:
    from ._models import Result, Valuation, Whole
    from ._models._kept import Kept

K = TypeVar("K", bound="Kept")
R = TypeVar("R", bound="Result")
W = TypeVar("W", bound="Whole")


def reads(model: Callable[[], type[W]]) -> Callable[[Answer], W]:
    """Reader of an answer that is one `model`."""

    def read(answer: Answer) -> W:
        from ._models import read_whole

        return read_whole(model(), answer)

    return read


def reads_list(model: Callable[[], type[R]], under: str) -> Callable[[Answer], tuple[R, ...]]:
    """Reader of an answer that has a list of `model` under the name `under`."""

    def read(answer: Answer) -> tuple[R, ...]:
        from ._models import read_list

        return read_list(model(), under, answer)

    return read


def reads_valuation(answer: Answer) -> Valuation:
    """Reader of an answer that is a valuation; its id stands in a header."""
    from ._models import read_valuation

    return read_valuation(answer)


def reads_kept(model: Callable[[], type[K]], header: str) -> Callable[[Answer], K]:
    """Reader of an answer that may be kept; its id then stands in the header of that (lower-case) name."""

    def read(answer: Answer) -> K:
        from ._models._kept import read_kept

        return read_kept(model(), answer, header)

    return read
