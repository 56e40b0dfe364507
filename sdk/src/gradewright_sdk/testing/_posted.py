"""Well-formed answers about postings, later words and lists; part of `samples`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gradewright_sdk.testing._shared import Json


def posted_price(**fields: Any) -> Json:
    """A price of a posting."""
    return {
        "line": 1,
        "grade": "copper-no2",
        "label": None,
        "price": "3.35",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "status": "counts",
        "held": None,
        **fields,
    }


def held_price(**fields: Any) -> Json:
    """A price that waits, ten times what others are paid."""
    held = {
        "because": "far-off",
        "median": "7.275255",
        "spread": "0.220462",
        "score": "200.50",
        "yards": 3,
        "says": "At 3 yards others are paid 3.30 USD/lb in the middle, give or take 0.10; this price is "
        "10 times theirs. It counts once another member confirms it or says the same of that yard, unless "
        "those who dispute it or lately said otherwise there weigh more; or once a maintainer accepts it.",
    }
    return posted_price(**{"price": "33.0", "status": "held", "held": held, **fields})


def posting(**fields: Any) -> Json:
    """A posting with one price."""
    return {
        "id": "p-1",
        "revision": 313,
        "yard": "low-quay",
        "observed_on": "2026-05-03",
        "evidence": "sign",
        "author": "wren",
        "recorded_at": "2026-05-04T09:12:00Z",
        "note": None,
        "prices": [posted_price()],
        "withheld": 0,
        "next_line": None,
        "words": [],
        **fields,
    }


def later_word(kind: str = "withdrawal", **fields: Any) -> Json:
    """A later word about the first line of a posting."""
    return {
        "revision": 314,
        "kind": kind,
        "lines": [1],
        "author": "wren" if kind == "withdrawal" else "teal",
        "verdict": "accepted" if kind == "decision" else None,
        "reason": "read the wrong line of the board",
        "recorded_at": "2026-05-04T10:30:00Z",
        **fields,
    }


def word_stored(kind: str = "withdrawal", **fields: Any) -> Json:
    """The same just stored."""
    return {**later_word(kind), "posting": "p-1", **fields}


def correction(**fields: Any) -> Json:
    """A line taken back and another in its place."""
    return {"withdrawal": word_stored(), "posting": posting(id="p-2", revision=314), **fields}


def held_prices(*postings: Mapping[str, Any]) -> Json:
    """What waits in a region; one price unless `postings` are given."""
    return {"postings": list(postings) or [posting(prices=[held_price()])]}


def list_change(change: str = "raised", **fields: Any) -> Json:
    """A line of a whole list, of a kind, and what it changes."""
    before = {
        "label": "#2 Cu",
        "price": "3.30",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "observed_on": "2026-04-27",
        "posting": "p-0000000000000000000f",
        "line": 1,
    }
    return {
        "line": 2,
        "change": change,
        "label": "#2 Cu",
        "grade": "copper-no2",
        "price": "3.35",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "by": "0.05",
        "percent": "1.5",
        "before": before,
        "faults": [],
        "near": [],
        "held": None,
        **fields,
    }


def list_compared(*lines: Mapping[str, Any], **fields: Any) -> Json:
    """A dry run of a whole list; without lines, of one price that was raised."""
    changes = list(lines) or [list_change()]
    kinds = ("new", "raised", "lowered", "same", "gone", "refused", "unknown")
    counts = {kind: sum(line["change"] == kind for line in changes) for kind in kinds}
    return {
        "yard": "low-quay",
        "observed_on": "2026-05-04",
        "evidence": "written-list",
        "note": None,
        "rulebook": "2018.1",
        "dry_run": True,
        "can_be_stored": not counts["refused"] + counts["unknown"],
        "posting": None,
        "revision": None,
        "compared_with": 312,
        "counts": counts,
        "held": sum(line.get("held") is not None for line in changes),
        "lines": changes,
        **fields,
    }
