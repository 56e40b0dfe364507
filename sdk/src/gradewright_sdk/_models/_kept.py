"""Answers that a service keeps: their bytes and hash, their id, and the ledger behind them."""

from __future__ import annotations

from base64 import b64decode
from hashlib import sha256
from typing import TypeVar

from pydantic import PrivateAttr

from gradewright_sdk._base import Answer
from gradewright_sdk._problems import unexpected

from ._common import Result, Whole, read_whole


class Pins(Result):
    """What the answer rests on. With the same rulebook, revision and method the same request answers the
    same.
    """

    rulebook: str
    revision: int
    method: str
    sha256: str | None = None


class Kept(Whole):
    """An answer with its pins. `id` is set when it was kept (or fetched by its id): it is not in the body."""

    pins: Pins

    _id: str | None = PrivateAttr(default=None)
    _ledger: tuple[int, bytes] | None = PrivateAttr(default=None)

    @property
    def id(self) -> str | None:
        """What to fetch or replay it by; None if it was not kept."""
        return self._id

    @property
    def ledger(self) -> tuple[int, bytes] | None:
        """How many entries the ledger had that it was worked out from, and the root of the tree over them:
        `client.ledger.consistency` shows that they are the beginning of today's. None if it was not kept.
        """
        return self._ledger

    @property
    def intact(self) -> bool:
        """Whether `raw` has the SHA-256 that the pins name: that of the bytes without that one member."""
        named = self.pins.sha256
        if named is None:
            return False
        # Quotes within any text are escaped in JSON, so this can only be the member itself.
        member = f',"sha256":"{named}"'.encode()
        return self.raw.count(member) == 1 and sha256(self.raw.replace(member, b"")).hexdigest() == named


K = TypeVar("K", bound=Kept)


def read_kept(model: type[K], answer: Answer, header: str) -> K:
    """An answer with its bytes and, where the service says one in `header`, its id."""
    found = read_whole(model, answer)
    found._id = answer.headers.get(header)
    size, root = answer.headers.get("ledger-size"), answer.headers.get("ledger-root")
    if size is not None and root is not None:
        try:
            found._ledger = int(size), b64decode(root, validate=True)
        except ValueError as error:
            raise unexpected(answer, "its Ledger-Size or Ledger-Root cannot be read") from error
    return found
