"""openapi/LEDGER.md says how entries are written and hashed; the code does as it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import rfc8785

from gradewright.benchmarks.entries import FORMS as OF_BENCHMARKS
from gradewright.compositions.entries import FORMS as OF_COMPOSITIONS
from gradewright.core.checkpoint import unsigned
from gradewright.core.merkle import leaf_hash
from gradewright.db.entries import Form, canonical
from gradewright.prices.entries import PRICE, WORD
from gradewright.regions.entries import FORMS as OF_REGIONS
from gradewright.rulebooks.entries import RULEBOOK
from gradewright.yards.entries import FORMS as OF_YARDS

PAGE = (Path(__file__).parents[2] / "openapi" / "LEDGER.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| ((?:`\w+` ?)+) \| (.*) \|$", PAGE, re.MULTILINE))
FORMS = [RULEBOOK, *(form for form, _ in (*OF_REGIONS, *OF_YARDS, *OF_BENCHMARKS, *OF_COMPOSITIONS))]


def _documented(kind: str) -> set[str]:
    [row] = [members for kinds, members in ROWS.items() if f"`{kind}`" in kinds and "`" in members]
    return set(re.findall(r"`(\w+)`", row.split(":")[0]))


@pytest.mark.parametrize("form", FORMS, ids=lambda form: f"{form.kind} {form.row.__tablename__}")
def test_each_kind_is_documented(form: Form) -> None:
    """The page names exactly the members that entries of a kind have, for yards and for regions."""
    told = set(form.entry([None] * len(form.members))) - {"kind"}
    other = {"yard", "region"} - told
    wanted = _documented(form.kind) - (other if form.kind in {"label", "refusal", "limit"} else set())
    assert told == wanted


def test_prices_and_words_are_documented() -> None:
    """A price tells its posting's note beside its own columns; words of each kind have the same members."""
    price = set(PRICE.entry([None] * len(PRICE.members))) - {"kind"} | {"note"}
    assert price == _documented("price")
    word = set(WORD.entry([None] * len(WORD.members))) - {"kind"}
    for kind in ("withdrawal", "confirmation", "dispute", "decision"):
        assert word == _documented(kind)


def test_the_example_has_the_hash_that_is_told() -> None:
    """The page's entry is in its canonical form, as long as it says, and has the hash that it says."""
    [example] = re.findall(r"```json\n(.*)\n```", PAGE)
    [told] = re.findall(r"^([0-9a-f]{64})$", PAGE, re.MULTILINE)
    import json

    raw = example.encode()
    assert rfc8785.dumps(json.loads(raw)) == canonical(json.loads(raw)) == raw
    assert f"is {len(raw)} bytes" in PAGE
    assert leaf_hash(raw).hex() == told


def test_the_example_of_a_checkpoint_can_be_read() -> None:
    """The page's checkpoint has the form that the code reads, but for its signature, which is cut short."""
    [example] = re.findall(r"```text\n(ledger\.example\.org\n.*?)…\n```", PAGE, re.DOTALL)
    found = unsigned(example + "\n")
    assert (found.origin, found.size) == ("ledger.example.org", 400)
