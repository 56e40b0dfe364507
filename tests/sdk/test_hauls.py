"""Hauls through both clients and the client's command line."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Client, Money
from gradewright_sdk.cli._files import FileFaults
from gradewright_sdk.cli._hauled import read_bins
from gradewright_sdk.testing import FakeGradewright, samples

PATH = "/v1/hauls"
BINS = b"""name,grade,weight,lots,lower_to
windings,copper-no2,10 lb,,
pipe,copper-no1,30 kg,3,copper-no2 + copper-light
brass,brass-yellow,500 g,,none
"""
WIRE: list[dict[str, Any]] = [
    {"name": "windings", "grade": "copper-no2", "weight": "10 lb"},
    {
        "name": "pipe",
        "grade": "copper-no1",
        "weight": "30 kg",
        "lots": 3,
        "lower_to": ["copper-no2", "copper-light"],
    },
    {"name": "brass", "grade": "brass-yellow", "weight": "500 g", "lower_to": []},
]


async def test_both_clients_ask_the_same(fake: FakeGradewright, client: Client) -> None:
    """A haul is sent without what was not said; kept, the answer has its id, and its amounts a currency."""
    fake.answer("POST", PATH, samples.haul(), status=201, headers={"Haul-Id": "h-1"})
    asked: dict[str, Any] = {"region": "XO-KEL", "trip_cost": "12.00", "hold_back": True, "keep": True}
    found = client.hauls.plan(WIRE, **asked)
    async with fake.async_client() as awaited:
        assert (await awaited.hauls.plan(WIRE, **asked)).raw == found.raw
    first, second = fake.requests
    assert first.json == second.json
    assert first.json == {
        "bins": WIRE,
        "region": "XO-KEL",
        "costs": {"trip": "12.00"},
        "hold_back": True,
        "keep": True,
    }
    assert found.id == "h-1"
    assert found.left.likely == Money(Decimal("18.50"), "USD")
    assert found.second.less == Money(Decimal("0.50"), "USD")
    assert found.trips[0].stops[0].piles[0].price.likely == Money(Decimal("3.35"), "USD")


def test_a_bin_without_a_name(fake: FakeGradewright, client: Client) -> None:
    """It is called as its grade is; what has a name, or no grade, is sent as it stands."""
    fake.answer("POST", PATH, samples.haul())
    client.hauls.plan(
        [{"grade": "copper-no2", "weight": "10 lb"}, WIRE[0], {"weight": "1 lb"}], region="XO-KEL"
    )
    named = {"name": "copper-no2", "grade": "copper-no2", "weight": "10 lb"}
    assert fake.requests[-1].json["bins"] == [named, WIRE[0], {"weight": "1 lb"}]


def test_a_kept_haul_is_read_and_replayed(fake: FakeGradewright, client: Client) -> None:
    """A kept haul is fetched and replayed by its id."""
    for method, path in (("GET", f"{PATH}/h-1"), ("POST", f"{PATH}/h-1/replay")):
        fake.answer(method, path, samples.haul(), headers={"Haul-Id": "h-1"})
    assert client.hauls.get("h-1").id == client.hauls.replay("h-1").id == "h-1"


def test_the_file_of_bins() -> None:
    """A file has a bin a line; what is wrong is told with its line, all at once."""
    assert list(read_bins(BINS).bins) == WIRE
    with pytest.raises(FileFaults) as caught:
        read_bins(b"grade,weight,lots\ncopper-no1,,x\n,2 lb,1\n")
    assert [str(fault) for fault in caught.value.faults] == [
        "line 2, weight: a bin needs it.",
        "line 2, lots: 'x' is no whole number.",
        "line 3, grade: a bin needs it.",
    ]
    for text, says in (
        (b"grade,colour\n", "colour"),
        (b"name\n", "missing columns"),
        (b"grade,weight\n", "no bin"),
    ):
        with pytest.raises(FileFaults) as caught:
            read_bins(text)
        assert says in str(caught.value.faults[0])


def test_the_plan_for_people(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """The command tells which bin goes where, what stays and from when on it goes, and what is second."""
    fake.answer("POST", PATH, samples.haul())
    file = tmp_path / "bins.csv"
    file.write_bytes(BINS)
    ended = run(
        "haul", str(file), "--region", "XO-KEL", "--trip-cost", "12", "--stop-cost", "3", "--hold-back",
        "--stop-cost-at", "tern-row=7.50", "--stop-cost-at", "low-quay = 0",
    )  # fmt: skip
    assert ended.exit_code == 0, ended.stderr
    told = " ".join(ended.stdout.split())
    for part in (
        "One trip, 4.536 kg (10 lb)",
        "Low Quay",
        'Copper No. 2, say "#2 Cu"',
        "3.35/lb",
        "brass: 0.5 kg",
        "From 0.7 kg (1 lb 8.7 oz) on it would go.",
        "Paid 33.50, costs 12.00 for trips, 3.00 for stops",
        "Left 18.50 USD (17.00 to 20.00). No plan leaves more.",
        "Second choice: Going to Cinder Lane leaves 0.50 less.",
    ):
        assert part in told, part
    assert fake.requests[0].json["bins"] == WIRE
    own = {"tern-row": "7.50", "low-quay": "0"}
    assert fake.requests[0].json["costs"] == {"trip": "12", "stop": "3", "stop_at": own}
    for wrong in ("tern-row", "tern-row=", "=3"):
        assert run("haul", str(file), "--region", "XO-KEL", "--stop-cost-at", wrong).exit_code == 2


def test_a_trip_at_a_loss_is_told(fake: FakeGradewright, run: Run) -> None:
    """What the service says of a trip that brings less than it costs stands under the trip, and of a bin
    without a price under the bin, with the options that it speaks of; so does what more work would find.
    """
    answer = samples.haul()
    says = "This trip likely leaves 4.00 less than not making it."
    answer["trips"][0] |= {"loss": "4.00", "says": says}
    fake.answer("POST", PATH, answer)
    answer["kept"][0]["says"] = "No yard has posted a price. Post what one pays, or ask with estimates."
    answer["proof"]["says"] = "Asked again, the same is found; more seconds allow more work."
    ended = run("haul", "--bin", "brass-yellow 4 lb", "--region", "XO-KEL")
    assert "more seconds allow more work. (--seconds)" in " ".join(ended.stdout.split())
    assert f"{says} (--hold-back)" in " ".join(ended.stdout.split())
    assert "or ask with estimates. (--estimates)" in " ".join(ended.stdout.split())
    answer["proof"]["says"] = "No plan leaves more."
    proved = " ".join(run("haul", "--bin", "brass-yellow 4 lb", "--region", "XO-KEL").stdout.split())
    assert "No plan that takes all that can go leaves more." in proved


def test_what_only_may_apply_is_named(fake: FakeGradewright, run: Run) -> None:
    """A caution that is certain is told whole; those that may apply by their names, in one line."""
    sure = {"id": "a", "name": "Sharp edges", "says": "Wear gloves.", "source": "-", "certain": True}
    may = [{**sure, "id": n, "name": f"Kind {n}", "says": "Long.", "certain": False} for n in ("b", "c")]
    fake.answer("POST", PATH, samples.haul(cautions=[sure, *may]))
    told = " ".join(run("haul", "--bin", "light-iron 5 lb", "--region", "XO-KEL").stdout.split())
    assert "Sharp edges: Wear gloves." in told
    assert "May apply, as only grades are known: Kind b; Kind c. (--json tells them whole.)" in told
    assert "Long." not in told


def test_json_for_scripts(fake: FakeGradewright, run: Run) -> None:
    """With --json the service's bytes are printed as they are, and the id on standard error."""
    fake.answer("POST", PATH, samples.haul(), status=201, headers={"Haul-Id": "h-1"})
    ended = run("haul", "--valuation", "v-1", "--yard", "low-quay", "--yard", "tern-row", "--keep", "--json")
    assert json.loads(ended.stdout) == samples.haul()
    assert "Kept as h-1" in ended.stderr
    assert fake.requests[0].json == {
        "valuation": "v-1",
        "yards": ["low-quay", "tern-row"],
        "seconds": 5,
        "keep": True,
    }


def test_bins_without_a_file(fake: FakeGradewright, run: Run) -> None:
    """Bins can be given on the command line, by grade and weight."""
    fake.answer("POST", PATH, samples.haul())
    ended = run("haul", "--bin", "copper-no1 2 lb 3 oz", "--bin", "tin 5 kg", "--region", "XO-KEL")
    assert ended.exit_code == 0, ended.stderr
    assert fake.requests[0].json["bins"] == [
        {"name": "copper-no1", "grade": "copper-no1", "weight": "2 lb 3 oz"},
        {"name": "tin", "grade": "tin", "weight": "5 kg"},
    ]


def test_a_bin_in_lots(fake: FakeGradewright, run: Run) -> None:
    """A bin that can be taken apart says into how many lots; where one stays that no trip carries, the answer
    says how to.
    """
    heavy = "It is heavier than a trip carries. Give it as several lots if it can be taken apart."
    (kept,) = samples.haul()["kept"]
    fake.answer("POST", PATH, samples.haul(kept=[{**kept, "why": "too-heavy", "says": heavy}]))
    ended = run(
        "haul", "--bin", "light-iron 3000 lb in 8 lots", "--bin", "tin 5 kg in 1 lot", "--region", "XO"
    )
    assert ended.exit_code == 0, ended.stderr
    assert fake.requests[0].json["bins"] == [
        {"name": "light-iron", "grade": "light-iron", "weight": "3000 lb", "lots": 8},
        {"name": "tin", "grade": "tin", "weight": "5 kg", "lots": 1},
    ]
    told = " ".join(ended.stdout.split())
    assert f'{heavy} (--bin "GRADE WEIGHT in 8 lots", or the column lots)' in told


def test_faults_stand_at_their_lines(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What the service says of a bin is told with the line of the file that it stands on."""
    fault = {
        "detail": "'copper-no9' is not a grade.",
        "pointer": "#/bins/1/grade",
        "suggestions": ["copper-no2"],
    }
    fake.problem("POST", PATH, "unknown-grade", errors=[fault])
    file = tmp_path / "bins.csv"
    file.write_bytes(BINS)
    ended = run("haul", str(file), "--region", "XO-KEL")
    assert ended.exit_code == 2
    assert "bins.csv: line 3, grade: 'copper-no9' is not a grade." in " ".join(ended.stderr.split())


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--valuation", "v-1", "bins.csv"),
        ("bins.csv",),
        ("--bin", "copper-no1", "--region", "X"),
        ("--bin", "copper-no1 in 8 lots", "--region", "X"),
        ("--bin", "copper-no1 8 lb in two lots", "--region", "X"),
        ("--bin", "copper-no1 8 lb in 0 lots", "--region", "X"),
        ("--valuation", "v-1", "--region", "X", "--yard", "y"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...]) -> None:
    """Bins or a valuation, a region or yards: anything else is wrong usage."""
    assert run("haul", *arguments).exit_code == 2
