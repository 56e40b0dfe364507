"""Settlements: scale tickets held against what was expected. For members; private to who settled them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Answer, AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import Markdowns, MatchMeant, Settlement, SettlementWithdrawn


def settle_ticket(
    yard: str,
    ticket: Mapping[str, object],
    *,
    valuation: str | None = None,
    bins: Sequence[Mapping[str, object]] | None = None,
    matches: Sequence[Mapping[str, object] | MatchMeant] = (),
    known_at: int | datetime | str | None = None,
    rulebook: str | None = None,
    keep: bool = False,
    post_prices: bool = False,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Settlement]:
    """Hold a ticket against a kept `valuation` or against `bins`, one of them (members).

    `ticket` has `on`, `lines`, `total`, and perhaps `number`, `charges` and `cash`; a line `label`, `net`,
    `price`, `amount`, and perhaps `per`, `grade`, `gross`, `tare` and `deduction`. A bin has `grade` and
    `weight`, and perhaps its own `price` and `per`. `matches` say which line stands for which bin (`line`,
    and `bin` or `part`) where labels do not; what an answer suggests, `meant`, is given as it stands. With
    `keep` the service stores it, for you and maintainers alone; with `post_prices` you also let it post the
    ticket's prices. Raises Conflict for a ticket that is settled already.
    """
    if (valuation is None) == (bins is None):
        raise ValueError("give valuation= or bins=, one of them: a ticket is held against what was expected")
    against: dict[str, object] = {"valuation": valuation} if valuation is not None else {"bins": bins}
    by_hand = [each if isinstance(each, Mapping) else each.match for each in matches]
    body: dict[str, object] = {"yard": yard, "ticket": ticket, "against": against, "matches": by_hand}
    if known_at is not None:
        body["known_at"] = _wire.known_at_wire(known_at)
    body |= {"rulebook": rulebook, "keep": keep, "post_prices": post_prices}
    return Call(
        "POST",
        _wire.path("settlements"),
        _reads_settlement,
        body=_wire.with_amounts(body, "the request"),
        writes=keep,
        idempotency_key=new_key(idempotency_key) if keep else None,
        timeout=timeout,
    )


def get_settlement(id: str, *, timeout: float | None = None) -> Call[Settlement]:
    """A settlement that you kept, the same bytes as when it was made. Raises NotFound, also for another's."""
    return Call("GET", _wire.path("settlements", id), _reads_settlement, timeout=timeout)


def replay_settlement(id: str, *, timeout: float | None = None) -> Call[Settlement]:
    """A kept settlement computed afresh from its request and pins: its `raw` is the same bytes. Raises
    NotFound.
    """
    return Call("POST", _wire.path("settlements", id, "replay"), _reads_settlement, timeout=timeout)


def withdraw_settlement(
    id: str, *, reason: str, idempotency_key: str | None = None, timeout: float | None = None
) -> Call[SettlementWithdrawn]:
    """Take a settlement of your own back, with the prices that were posted of it: it then counts nowhere.

    Raises NotFound, Conflict where it was taken back already.
    """
    return Call(
        "POST",
        _wire.path("settlements", id, "withdrawal"),
        reads(lambda: results.SettlementWithdrawn),
        body={"reason": reason},
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def yard_markdowns(yard: str, *, timeout: float | None = None) -> Call[Markdowns]:
    """How often and by how much a yard marks down, by its sellers' tickets (members). Raises UnknownYard."""
    return Call(
        "GET", _wire.path("yards", yard, "settlements"), reads(lambda: results.Markdowns), timeout=timeout
    )


def _reads_settlement(answer: Answer) -> Settlement:
    from gradewright_sdk._models._settlements import read_settlement

    return read_settlement(answer)


class Settlements(Resource):
    """Settlements: scale tickets held against what was expected."""

    settle = sync(settle_ticket)
    get = sync(get_settlement)
    replay = sync(replay_settlement)
    withdraw = sync(withdraw_settlement)
    markdowns = sync(yard_markdowns)


class AsyncSettlements(AsyncResource):
    """Settlements: scale tickets held against what was expected."""

    settle = asynchronous(settle_ticket)
    get = asynchronous(get_settlement)
    replay = asynchronous(replay_settlement)
    withdraw = asynchronous(withdraw_settlement)
    markdowns = asynchronous(yard_markdowns)
