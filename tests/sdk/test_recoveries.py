"""Recoveries through both clients and the client's command line."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Client, Money
from gradewright_sdk.cli._recovered import conductor_given, metals_given
from gradewright_sdk.testing import FakeGradewright, samples

PATH = "/v1/recoveries"
ASSAY: dict[str, Any] = {
    "kind": "assay",
    "currency": "USD",
    "copper": None,
    "grading": None,
    "precious": {
        "lot_kg": {"low": "24.95", "high": "25.05"},
        "metals": [
            {
                "metal": "gold",
                "content_g_per_t": {"low": "120", "high": "500"},
                "source": "published: 250, 240 g/t",
                "price": "2000 per ozt, as given",
                "there_g": {"low": "2.994", "high": "12.525"},
                "paid_for_g": {"low": "2.844", "high": "11.899"},
                "amount": {"low": "181.98", "high": "761.28"},
            }
        ],
        "charges": {"low": "187.42", "high": "187.58"},
        "amount": {"low": "-5.52", "high": "573.82"},
        "too_small": False,
        "says": "An indication, not an assay: only a refiner's assay of this very lot tells what it holds.",
    },
}
STRIPPING: dict[str, Any] = {
    "lot_kg": "10.000",
    "minutes": "60",
    "hour_rate": "12",
    "wire": "wire-50",
    "bare": "copper-bright",
    "copper_kg": {"low": "5.785", "likely": "5.801", "high": "5.817"},
    "as_is": {"low": "28.90", "likely": "29.00", "high": "29.10"},
    "stripped": {"low": "46.00", "likely": "46.41", "high": "46.80"},
    "insulation_kg": {"low": "4.183", "likely": "4.199", "high": "4.215"},
    "disposal": {"low": "0.00", "likely": "0.00", "high": "0.00"},
    "gain": {"low": "16.90", "likely": "17.41", "high": "17.90"},
    "per_hour": {"low": "16.90", "likely": "17.41", "high": "17.90"},
    "break_even_minutes": {"low": "84.5", "likely": "87.04", "high": "89.5"},
    "break_even_minutes_per_kg": {"low": "8.45", "likely": "8.7", "high": "8.95"},
    "pays": True,
    "unpriced": None,
    "says": "Stripped it likely brings 17.41 USD more for 60 minutes, 17.41 an hour.",
}


def words(text: str) -> str:
    """The text in one line, however it was broken."""
    return " ".join(text.split())


async def test_both_clients_ask_the_same(fake: FakeGradewright, client: Client) -> None:
    """A cable is sent as it is described, without what was not said; kept, the answer has its id."""
    headers = {"Recovery-Id": "r-1", "Location": f"{PATH}/r-1"}
    fake.answer("POST", PATH, samples.recovery(), status=201, headers=headers)
    asked: dict[str, Any] = {
        "weight": "38 lb",
        "length": "1000 ft",
        "strip": {"lot": "10 kg", "minutes_per_kg": Decimal(6)},
        "region": "XO-KEL",
        "keep": True,
    }
    conductors = [{"count": 3, "size": "16 AWG"}]
    found = client.recoveries.cable(conductors, **asked)
    async with fake.async_client() as awaited:
        assert (await awaited.recoveries.cable(conductors, **asked)).raw == found.raw
    first, second = fake.requests
    assert first.json == second.json
    assert first.json == {
        "cable": {
            "conductors": conductors,
            "weight": "38 lb",
            "length": "1000 ft",
            "strip": {"lot": "10 kg", "minutes_per_kg": "6"},
        },
        "region": "XO-KEL",
        "keep": True,
    }
    assert "idempotency-key" in first.headers
    assert (found.id, found.kind) == ("r-1", "sample")
    assert found.copper is not None
    assert (found.copper.attribute, found.copper.likely) == ("copper_share", "58.01 %")


def test_money_in_the_currency_of_the_answer(fake: FakeGradewright, client: Client) -> None:
    """Amounts are money in the one currency; the ends of precious metal have nothing in between."""
    fake.answer("POST", PATH, samples.recovery(**ASSAY))
    found = client.recoveries.assay("25.0 kg", [{"metal": "gold", "price": "2000"}], like="computer-boards")
    assert found.precious is not None
    assert found.precious.amount.low == Money(Decimal("-5.52"), "USD")
    assert not hasattr(found.precious.amount, "likely")
    fake.answer("POST", PATH, samples.recovery(currency="USD", stripping=STRIPPING))
    stripped = client.recoveries.sample(weight="512 g", copper="297 g").stripping
    assert stripped is not None
    assert stripped.gain is not None
    assert stripped.gain.likely == Money(Decimal("17.41"), "USD")


def test_kept_ones_are_read_and_replayed(fake: FakeGradewright, client: Client) -> None:
    """By its id an answer is fetched and replayed, under paths of its own."""
    fake.answer("GET", f"{PATH}/r-1", samples.recovery(), headers={"Recovery-Id": "r-1"})
    fake.answer("POST", f"{PATH}/r-1/replay", samples.recovery(), headers={"Recovery-Id": "r-1"})
    assert client.recoveries.get("r-1").raw == client.recoveries.replay("r-1").raw


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ("3 x 16 AWG", {"count": 3, "size": "16 AWG"}),
        ("16 AWG", {"count": 1, "size": "16 AWG"}),
        ("3x1.5 mm2/30", {"count": 3, "size": "1.5 mm2", "strands": 30}),
        ("3 x 7 x 0.30 mm", {"count": 3, "strands": 7, "strand": "0.30 mm"}),
        ("1 x 14 AWG/1", {"count": 1, "size": "14 AWG", "strands": 1}),
        ("3 x 4/0 AWG", {"count": 3, "size": "4/0 AWG"}),
        ("2 X 2/0 awg/19", {"count": 2, "size": "2/0 awg", "strands": 19}),
        ("AWG 1/0", {"count": 1, "size": "AWG 1/0"}),
    ],
)
def test_conductors_as_people_write_them(text: str, given: dict[str, object]) -> None:
    """A count, a size with its strands behind a slash, or strands of a diameter."""
    assert conductor_given(text) == given


@pytest.mark.parametrize(
    "words",
    [
        ("cable", "--conductor", "3 x 16 AWG", "--weight", "1 kg", "--length", "9 m", "cable_kind=cord"),
        ("sample", "--weight", "5 g", "--copper", "2 g"),
        ("density", "--dry", "5 g", "--in-water", "4 g"),
        ("assay", "--lot", "5 kg", "--metal", "gold"),
    ],
)
def test_pins_of_ones_own(fake: FakeGradewright, run: Run, words: tuple[str, ...]) -> None:
    """Each can be asked at a day, a revision and a version, so that it can be asked again."""
    book = samples.rulebook()
    book["attributes"]["cable_kind"] = {"kind": "choice", "choices": {"cord": ""}}
    fake.answer("GET", "/v1/rulebooks/2026.1", book)
    fake.answer("POST", PATH, samples.recovery())
    pins = ("--on", "2026-05-04", "--known-at", "312", "--rulebook", "2026.1")
    ended = run("recovery", *words, *pins)
    assert ended.exit_code == 0, ended.stderr
    sent = fake.requests[-1].json
    assert (sent["on"], sent["known_at"], sent["rulebook"]) == ("2026-05-04", 312, "2026.1")
    assert all(asked.path != "/v1/rulebooks/in-force" for asked in fake.requests)


@pytest.mark.parametrize("text", ["3 x 16 AWG/x", "", "1.5 mm2/3/4"])
def test_what_is_no_conductor(run: Run, text: str) -> None:
    """What cannot be one is wrong usage, told with how to write one, and nothing is asked."""
    ended = run("recovery", "cable", "--conductor", text, "--weight", "1 kg", "--length", "1 m", columns=200)
    assert ended.exit_code == 2
    assert "is no conductor; write '3 x 16 AWG' or '3 x 7 x 0.30 mm'" in ended.stderr


def test_metals_as_people_write_them() -> None:
    """A metal with its content or without, and what is said of it by name; anything else is told."""
    said = {"price": ["gold=2000", "silver=30"], "payable": ["gold=95 %"]}
    assert metals_given(["gold 200 g/t to 300 g/t", "silver"], said, "ozt") == [
        {
            "metal": "gold", "low": "200 g/t", "high": "300 g/t", "per": "ozt", "price": "2000",
            "payable": "95 %",
        },
        {"metal": "silver", "low": None, "high": None, "per": "ozt", "price": "30"},
    ]  # fmt: skip
    for metals, pairs in ((["gold", "gold"], []), (["gold 200 g/t"], []), (["gold"], ["tin=3"])):
        with pytest.raises(ValueError, match=r"gold|tin"):
            metals_given(metals, {"price": pairs}, "ozt")


def test_a_cable_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """Conductors, weight and lot go as they were written; the answer says share, bands, gain and cautions."""
    fake.answer("POST", PATH, samples.recovery(currency="USD", region="XO-KEL", stripping=STRIPPING))
    told = run(
        "recovery", "cable", "--conductor", "3 x 16 AWG", "--weight", "38.0 lb", "--length", "1000 ft",
        "--strip", "10 kg", "--minutes-per-kg", "6", "--hour-rate", "12", "--region", "XO-KEL",
    )  # fmt: skip
    assert told.exit_code == 0, told.stderr
    assert fake.requests[-1].json["cable"]["conductors"] == [{"count": 3, "size": "16 AWG"}]
    shown = words(told.stdout)
    for part in (
        "Between 57.85 % and 58.17 % of the weight is copper",
        "Insulated copper wire, 50 % (wire-50)",
        "16.90 – 17.41 – 17.90",
        "breaks even at 12 an hour, minutes a kg 8.45 – 8.7 – 8.95",
        "! Do not burn insulation",
    ):
        assert part in shown


def test_what_the_insulation_costs_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """For a weight, for the haul, or both: it goes as it was written, and what it comes to is in the table,
    where it comes to anything.
    """
    costs = {"low": "6.08", "likely": "6.17", "high": "6.26"}
    told = {"copper": "297 g", "weight": "512 g", "strip": "10 kg", "minutes-per-kg": "6", "region": "XO-KEL"}
    line = ["recovery", "sample", *(part for name, text in told.items() for part in (f"--{name}", text))]
    for disposal, sent in (
        ("0.30/lb + 5", {"disposal": "0.30", "disposal_per": "lb", "disposal_once": "5"}),
        ("5 + 0.30 per lb", {"disposal": "0.30", "disposal_per": "lb", "disposal_once": "5"}),
        ("0.10 per kg", {"disposal": "0.10", "disposal_per": "kg"}),
        ("0.30/kg", {"disposal": "0.30", "disposal_per": "kg"}),
        ("5", {"disposal_once": "5"}),
    ):
        answer = samples.recovery(currency="USD", region="XO-KEL", stripping={**STRIPPING, "disposal": costs})
        fake.answer("POST", PATH, answer)
        shown = run(*line, "--disposal", disposal)
        assert shown.exit_code == 0, shown.stderr
        strip = fake.requests[-1].json["sample"]["strip"]
        assert {name: text for name, text in strip.items() if name.startswith("disposal")} == sent
        assert "to be rid of the insulation 6.08 – 6.17 – 6.26" in words(shown.stdout)
        assert "insulation, kg 4.183 – 4.199 – 4.215" in words(shown.stdout)
    fake.answer("POST", PATH, samples.recovery(currency="USD", region="XO-KEL", stripping=STRIPPING))
    free = run(*line)
    assert not any(name.startswith("disposal") for name in fake.requests[-1].json["sample"]["strip"])
    assert "to be rid of" not in words(free.stdout)
    for wrong in ("", "0.30/", "0.30 per", "/kg", "per kg", "5 kg per", "1 + 2", "1/kg + 2/lb", "much"):
        refused = run(*line, "--disposal", wrong)
        assert refused.exit_code == 2
        assert "for a weight, 0.30 per kg, for the haul, 5" in words(refused.stderr)
    for field in ("disposal", "disposal_per", "disposal_once"):
        fault = {"detail": "Write an amount.", "pointer": f"#/sample/strip/{field}"}
        fake.problem("POST", PATH, "invalid-request", errors=[fault])
        assert "--disposal: Write an amount." in words(run(*line, "--disposal", "5 kg").stderr)
    assert run("recovery", "sample", "--copper", "1 g", "--weight", "2 g", "--disposal", "5").exit_code == 2


def test_an_assay_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """Both ends are told, below the words that it is an indication; --json is the answer's bytes."""
    fake.answer("POST", PATH, samples.recovery(**ASSAY))
    line = ["recovery", "assay", "--lot", "25.0 kg", "--metal", "gold", "--price", "gold=2000"]
    told = run(*line, "--like", "computer-boards", "--currency", "USD")
    assert told.exit_code == 0, told.stderr
    assert told.stdout.startswith("An indication, not an assay")
    assert "-5.52 to 573.82" in words(told.stdout)
    assert fake.requests[-1].json["assay"]["metals"] == [{"metal": "gold", "per": "ozt", "price": "2000"}]
    assert json.loads(run(*line, "--json").stdout)["kind"] == "assay"


def test_what_was_kept_says_its_id(fake: FakeGradewright, run: Run) -> None:
    """The id is told below the answer, and beside --json on standard error, as it is not in the body."""
    fake.answer("POST", PATH, samples.recovery(), status=201, headers={"Recovery-Id": "r-1"})
    line = ["recovery", "sample", "--weight", "512 g", "--copper", "297 g", "--keep"]
    assert "kept as r-1" in words(run(*line).stdout)
    told = run(*line, "--json")
    assert json.loads(told.stdout)["kind"] == "sample"
    assert told.stderr.strip() == "Kept as r-1"


def test_a_piece_on_the_command_line(fake: FakeGradewright, run: Run) -> None:
    """What a published density fits is listed apart from what is only not ruled out."""
    row = {"material": "brass", "low": "8.4", "high": "8.75", "source": "made for tests"}
    density = {
        "low": "8.514 g/cm3", "likely": "8.523 g/cm3", "high": "8.532 g/cm3", "attribute": "density",
        "metals": [
            {"metal": "brass", "published": [row]},
            {"metal": "copper", "published": []},
        ],
        "unlisted": [{**row, "material": "made-up metal"}],
        "rests_on": ["100.00 g dry, 88.30 g hanging in water of 20 C"],
        "says": "Between 8.514 and 8.532 g/cm3.",
    }  # fmt: skip
    fake.answer("POST", PATH, samples.recovery(kind="displacement", copper=None, density=density))
    told = run("recovery", "density", "--dry", "100.00 g", "--in-water", "88.30 g", "--water", "20")
    assert told.exit_code == 0, told.stderr
    shown = words(told.stdout)
    fits, _, others = shown.partition("Not ruled out")
    assert "It can be brass brass 8.4 to 8.75" in fits
    assert "made-up metal 8.4 to 8.75; the rulebook has no word for it" in fits
    assert "copper" in others
    assert "copper" not in fits


@pytest.mark.parametrize(
    "line",
    [
        ["cable", "--conductor", "/", "--weight", "1 kg", "--length", "1 m"],
        ["sample", "--weight", "1 kg", "--copper", "1 g", "--minutes-per-kg", "3"],
        ["sample", "--weight", "1 kg", "--copper", "1 g", "--strip", "1 kg", "--region", "XO"],
        ["sample", "--weight", "1 kg", "--copper", "1 g", "--strip", "1 kg", "--minutes-per-kg", "3"],
        ["density", "--dry", "1 kg"],
        ["assay", "--lot", "1 kg", "--metal", "gold", "--price", "silver=3"],
    ],
)
def test_wrong_usage_asks_nothing(fake: FakeGradewright, run: Run, line: list[str]) -> None:
    """What does not go together is wrong usage, told before anything is asked."""
    assert run("recovery", *line).exit_code == 2
    assert fake.requests == []
