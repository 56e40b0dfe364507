"""gradewright-client upload: what counts of a list although it is far from what was paid, and what waits."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
from tests.api import empty_world, price, settle
from tests.prices.test_histories import HELD, rulebook
from tests.sdk.conftest import Run
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members

from gradewright_sdk.testing import FakeGradewright, samples

LISTS = "/v1/yards/low-quay/lists"
UPLOAD = ["upload", "-", "--yard", "low-quay", "--observed-on", "2026-05-04"]
CSV = b"label;price\r\n#2 Cu;33.5\r\n"
TEN = "10 times what was paid there before, 3.35 USD/lb, seen on 2026-05-02."
FAR: dict[str, Any] = {"price": "33.5", "by": "30.2", "percent": "901.5"}
GONE: dict[str, Any] = {
    **dict.fromkeys(("line", "label", "price", "currency", "by", "percent")),
    "grade": "tin",
}
STORED: dict[str, Any] = {"posting": "p-1", "revision": 313, "dry_run": False}


def words(text: str) -> str:
    return " ".join(text.split())


def before(fake: FakeGradewright) -> None:
    """Copper No. 2 was 3.35 there, by the yard's own price."""
    fake.answer(
        "GET", "/v1/prices", samples.price_list(samples.price(basis=samples.basis(kind="yard"))), times=None
    )


def stored(fake: FakeGradewright, *lines: Any) -> None:
    fake.answer("POST", LISTS, samples.list_compared(*lines, **STORED), status=201)


def test_a_slip_is_told_at_its_line_and_in_the_end(fake: FakeGradewright, run: Run) -> None:
    """Below the line, and after what is gone by its number in the file; it is put right by its number in the
    posting, which a line that waits has too."""
    before(fake)
    waits = samples.list_change(line=4, **FAR, held=samples.held_price()["held"])
    stored(fake, waits, samples.list_change(line=5, **FAR), *[samples.list_change("gone", **GONE)] * 36)
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=[samples.posted_price(line=2)]))
    shown = words(run(*UPLOAD, input=CSV).stdout)
    assert f"5 raised #2 Cu (copper-no2) 33.5/lb 3.30/lb +30.2 (+901.5 %) it counts, and is {TEN}" in shown
    assert shown.count("it counts, and is") == 1
    assert shown.endswith(
        "1 price of it waits and does not count yet. Line 4 of the file waits: it is told there why. If it "
        "is a slip: `gradewright-client correct p-1 --line 1 --price … --reason …` puts it right. Line 5 of "
        "the file is far from what the list had before. If it is a slip: `gradewright-client correct p-1 "
        "--line 2 --price … --reason …` puts it right."
    )
    prices, posting = fake.requests[-2:]
    assert prices.query == {"yard": "low-quay", "on": "2026-05-04", "known_at": "312", "grade": "copper-no2"}
    assert posting.query == {"known_at": "313", "from_line": "2"}


def test_of_a_dry_run_it_is_told_before_it_is_stored(fake: FakeGradewright, run: Run) -> None:
    """Against what was known when it was compared, in lists that cannot be stored too."""
    before(fake)
    unknown = samples.list_change("unknown", line=3, price=None, per=None, by=None, percent=None, before=None)
    fake.answer("POST", LISTS, samples.list_compared(unknown, samples.list_change(line=9, **FAR)))
    result = run(*UPLOAD, "--dry-run", input=CSV)
    shown = words(result.stdout)
    assert result.exit_code == 1
    assert f"(+901.5 %) in the list of 2026-05-04 it would count, and is {TEN}" in shown
    assert shown.endswith(
        "Nothing was posted. Line 9 of the file is far from what the list had before: see whether it is a "
        "slip."
    )
    assert fake.requests[-1].query["known_at"] == "312"
    assert all(sent.path != "/v1/postings/p-1" for sent in fake.requests)


def test_a_slip_that_stays_the_same_is_shown(fake: FakeGradewright, run: Run) -> None:
    """Also where the price before was the same slip; what is near is not."""
    before(fake)
    same = samples.list_change("same", line=7, price="33.5", by=None, percent=None)
    near = samples.list_change("same", line=8, by=None, percent=None)
    fake.answer("POST", LISTS, samples.list_compared(same, near))
    shown = words(run(*UPLOAD, "--dry-run", input=CSV).stdout)
    assert (
        f"7 same #2 Cu (copper-no2) 33.5/lb 3.30/lb in the list of 2026-05-04 it would count, and is {TEN}"
        in shown
    )
    assert "8 same" not in shown


def test_a_slip_in_whose_place_a_newer_price_stands_is_told(fake: FakeGradewright, run: Run) -> None:
    """It counts nowhere today, and may in lists of its own day."""
    before(fake)
    stored(fake, samples.list_change(**FAR))
    overtaken = samples.posted_price(status="overtaken")
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=[overtaken]))
    shown = words(run(*UPLOAD, input=CSV).stdout)
    assert f"(+901.5 %) it is {TEN}" in shown
    assert "it counts" not in shown
    assert "If it is a slip: `gradewright-client correct p-1 --line 1" in shown


@pytest.mark.parametrize("dry", [True, False])
def test_a_slip_of_a_list_too_old_to_count_is_not_told_to_count(
    fake: FakeGradewright, run: Run, *, dry: bool
) -> None:
    """It may count in lists of days near its own, so it is told; before it is stored, and after."""
    before(fake)
    fake.answer("GET", "/v1/rulebooks/in-force", {**samples.rulebook(), "pricing": {"stale_after": 120}})
    old = samples.list_change(**FAR)
    fake.answer(
        "POST", LISTS, samples.list_compared(old, observed_on="2020-05-04", **({} if dry else STORED))
    )
    stale = samples.posted_price(status="stale")
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=[stale]))
    shown = words(run(*UPLOAD, *(["--dry-run"] if dry else []), input=CSV).stdout)
    assert f"(+901.5 %) it is {TEN}" in shown
    assert "count, and" not in shown
    assert "Line 2 of the file is far from what the list had before" in shown


@pytest.mark.parametrize("lost", ["/v1/prices", "/v1/postings/p-1"])
def test_whether_it_is_far_off_may_not_be_known(fake: FakeGradewright, run: Run, lost: str) -> None:
    """It is stored all the same, and what is not known is said."""
    before(fake)
    stored(fake, samples.list_change(**FAR))
    fake.lose("GET", lost)
    result = run(*UPLOAD, input=CSV)
    assert result.exit_code == 0
    assert "Whether a price of it is far from what was paid there before could not be asked." in words(
        result.stdout
    )


def test_json_is_the_answer_alone(fake: FakeGradewright, run: Run) -> None:
    """Nothing more is asked for scripts."""
    stored(fake, samples.list_change(**FAR))
    assert run(*UPLOAD, "--json", input=CSV).exit_code == 0
    assert len(fake.requests) == 1


@pytest.fixture
async def members(request: pytest.FixtureRequest) -> AsyncIterator[Members]:
    """Low Quay has a list of three grades; nobody else speaks of them."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    async with empty_world(request, "sqlite") as world:
        await world.publish(document)
        await settle(world)
        seen = [price("copper-no1", "3.50"), price("copper-no2", "3.10"), price("light-iron", "0.08")]
        await world.post(*seen, who="wren", on="2026-05-01")
        yield Members(world, InProcess(world.client, {}))


async def test_a_list_with_a_slip(members: Members, tmp_path: Path) -> None:
    """The point in the wrong place is told before and after it is stored, and puts itself right as told."""
    file = tmp_path / "list.csv"
    file.write_text("grade,price\ncopper-no1,3.52\nlight-iron,0.80\n")
    upload = ("upload", str(file), "--yard", "low-quay", "--observed-on", "2026-05-04")
    far = "10 times what was paid there before, 0.08 USD/lb, seen on 2026-05-01."
    dry = words((await members.shell("wren", *upload, "--dry-run")).stdout)
    assert f"it is {far}" in dry  # by the client's clock, which is not that of this service, it is too old
    told = words((await members.shell("wren", *upload)).stdout)
    assert f"it counts, and is {far}" in told
    assert "Line 3 of the file is far from what the list had before." in told
    command = told.partition("If it is a slip: `gradewright-client ")[2].partition(" --price")[0].split()
    mended = await members.shell("wren", *command, "--price", "light-iron 0.08 USD/lb", "--reason", "a slip")
    assert mended.exit_code == 0
    assert "Taken back: line 2 of p-" in mended.stdout
