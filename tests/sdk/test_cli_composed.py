"""Kinds of device as the command line tells them: in 80 columns, and what a record has moved."""

from __future__ import annotations

from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples

FILE = "name,weight,grade\nframe,42 kg,light-iron\n"
RECORD = ("record", "treadmill", "-", "--on", "2026-05-02")


def likely(low: str, middle: str, high: str) -> dict[str, str]:
    return {"low": low, "likely": middle, "high": high}


def part(grade: str, share: str) -> dict[str, Any]:
    """A part with a share, and nothing else known of it."""
    kilograms = {"weight_kg": None, "pieces": None}
    return {"grade": grade, "name": None, "share": likely("0", share, "1"), **kilograms, "found": 1}


@pytest.mark.parametrize("columns", [80, 120])
def test_the_list_keeps_words_whole(fake: FakeGradewright, run: Run, columns: int) -> None:
    """However long the slug and the figures of a kind, each stands whole on a line of its own."""
    long = samples.device_kind(
        kind="computer-and-screen", name="Desktop computer with a tube screen", records=3, published=True
    )
    one = samples.device_kind(kind="kettle", grade=None, records=1, voices=1, minutes=None)
    fake.answer("GET", "/v1/compositions", {"known_at": 312, "kinds": [long, one]})
    lines = run("compositions", columns=columns).stdout.splitlines()
    assert max(map(len, lines)) <= columns
    assert lines[0].split() == ["Kind", "of", "device", "Records", "By", "kg", "Minutes"]
    assert " ".join(lines[1].split()) == "computer-and-screen 3 publications 62 – 70 – 81 50 – 62 – 80"
    assert lines[2].strip() == "Desktop computer with a tube screen; sold whole as light-iron"
    assert " ".join(lines[3].split()) == "kettle 1 1 member 62 – 70 – 81 -"


def test_a_kind_in_80_columns(fake: FakeGradewright, run: Run) -> None:
    """A grade stands under the name of it with how often it was found; cautions as everywhere else."""
    parts = [{**part("aluminium-extrusion-painted", "0.0986"), "name": "Aluminium extrusion, painted"}]
    caution = {"id": "a", "name": "Sharp edges", "says": "Wear gloves.", "source": "-", "certain": True}
    shown = samples.composition(parts=parts, minutes=None, cautions=[caution, {**caution, "certain": False}])
    fake.answer("GET", "/v1/compositions/treadmill", shown)
    lines = [line.rstrip() for line in run("compositions", "treadmill").stdout.splitlines()]
    at = next(n for n, line in enumerate(lines) if line.startswith("Aluminium extrusion, painted  "))
    assert lines[at].split()[-6:] == ["0", "–", "9.86", "–", "100", "-"]
    assert lines[at + 1] == "  aluminium-extrusion-painted, in 1 of 4"
    assert any(line.startswith("No record tells how long it takes") for line in lines)
    assert "! Sharp edges: Wear gloves." in lines
    assert "? Sharp edges: Wear gloves." in lines


def test_what_a_record_has_moved(fake: FakeGradewright, run: Run) -> None:
    """A record is told with how many there are of whom, and the likely figures that are other ones now."""
    fake.answer("POST", "/v1/compositions", samples.composition_recorded(), status=201)
    parts = [part("light-iron", "0.6"), part("tin", "0.02")]
    before = samples.composition(records=1, voices=1, parts=parts)
    parts = [part("light-iron", "0.55"), part("copper-no2", "0.03")]
    now = samples.composition(records=2, voices=2, minutes=likely("50", "70", "80"), parts=parts)
    fake.answer(
        "GET",
        "/v1/compositions/treadmill",
        lambda asked: {"309": before, "310": now}[asked.query["known_at"]],
    )
    told = run(*RECORD, input=FILE).stdout.splitlines()
    assert told[0] == "Stored as c-2f1c9a0b3d4e5f607182, ledger revision 310."
    assert told[1] == "Treadmill (treadmill): 2 records of 2 members now, before: 1 record of 1 member."
    moved = {line.rsplit(maxsplit=2)[0].strip(): line.split()[-2:] for line in told[2:]}
    assert moved == {
        "Likely figures that it moved": ["before", "now"],
        "tin, % of it": ["2", "-"],
        "copper-no2, % of it": ["-", "3"],
        "minutes": ["62", "70"],
        "light-iron, % of it": ["60", "55"],
    }


def test_the_first_of_a_kind_and_one_that_moves_nothing(fake: FakeGradewright, run: Run) -> None:
    """The first record of a kind is told as that; one that changes no figure is told as that."""
    fake.answer("POST", "/v1/compositions", samples.composition_recorded(), status=201)
    fake.answer("GET", "/v1/compositions/treadmill", samples.composition())
    assert run(*RECORD, input=FILE).stdout.splitlines()[-1] == "It moved none of the likely figures."
    fake.problem("GET", "/v1/compositions/treadmill", "unknown-device-kind", status=404)
    first = samples.composition(records=1, voices=1)
    fake.answer("GET", "/v1/compositions/treadmill", first, times=1)
    said = "Treadmill (treadmill): 1 record of 1 member now, the first of its kind."
    assert run(*RECORD, "--new", "Treadmill", input=FILE).stdout.splitlines()[-1] == said


def test_what_cannot_be_asked_afterwards(fake: FakeGradewright, run: Run) -> None:
    """A record is stored whatever comes of asking what it moved: that is told, and no failure."""
    fake.answer("POST", "/v1/compositions", samples.composition_recorded(), status=201)
    fake.lose("GET", "/v1/compositions/treadmill")
    told = run(*RECORD, input=FILE)
    assert told.exit_code == 0
    assert "What its kind has become with it could not be asked." in told.stdout
    asked = len(fake.requests)
    assert run(*RECORD, "--json", input=FILE).exit_code == 0
    assert len(fake.requests) == asked + 2  # the rulebook and the record, and no more


def test_what_is_unusual_of_a_record_is_told(fake: FakeGradewright, run: Run) -> None:
    """What the service asks to be looked at again stands behind what was stored."""
    unusual = "It weighs 4000 kg, and the median of 4 others who recorded Treadmill is 73 kg."
    answer = {"id": "c-1", "kind": "treadmill", "revision": 310, "unusual": [unusual]}
    fake.answer("POST", "/v1/compositions", answer, status=201)
    fake.answer("GET", "/v1/compositions/treadmill", samples.composition())
    told = run(*RECORD, input=FILE)
    assert told.exit_code == 0, told.stderr
    shown = " ".join(told.stdout.split())
    assert unusual in shown
    assert "`gradewright-client record treadmill --withdraw c-1 --reason …` takes it back." in shown
