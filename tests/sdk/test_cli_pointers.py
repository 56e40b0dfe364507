"""What would pay beside a valuation, on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Valuation
from gradewright_sdk.cli._chunks import together
from gradewright_sdk.testing import FakeGradewright, samples

HOLD = {"kind": "hold", "grade": "copper-no2", "gain": "3.00", "says": "hold it"}
RULEBOOKS = "What would raise it, by the rulebook's minutes"
MEMBERS = "What taking apart would pay, by members' minutes"


def pointer(part: int, gain: str) -> dict[str, object]:
    """A part that pays more apart."""
    return {"kind": "take-apart", "part": part, "gain": gain, "says": f"take it apart: + {gain}"}


def valuation(*pointers: dict[str, object], parts: int = 2) -> Valuation:
    """A valuation of so many parts."""
    found = [samples.valued_part() for _ in range(parts)]
    raw = json.dumps(samples.valuation(*found, pointers=list(pointers))).encode()
    made = Valuation.model_validate_json(raw)
    made._raw = raw
    return made


def test_pointers_of_several_lists_are_one_list() -> None:
    """The largest gain comes first, and each names its part as it stands in the whole list."""
    whole = json.loads(together([valuation(pointer(1, "2.00"), HOLD), valuation(pointer(0, "10.00"))]))
    assert [(one["gain"], one.get("part")) for one in whole["pointers"]] == [
        ("10.00", 2), ("3.00", None), ("2.00", 1),
    ]  # fmt: skip
    assert Valuation.model_validate(whole).pointers[0].gain.amount == 10


def sections(fake: FakeGradewright, run: Run, file: Path, *pointers: dict[str, object]) -> dict[str, str]:
    """The sections of the table of a motor that can be raised, by their titles."""
    file.write_text("name,weight,grade\nmotor,2 lb,motors-copper\n")
    work = {"preparation": "open", "name": "Open it", "minutes": "15", "gain": "0.44", "per_hour": "1.76"}
    motor = samples.valued_part(name="motor", raises=[{**work, "grade": "copper-no2"}])
    fake.answer("POST", "/v1/valuations", samples.valuation(motor, pointers=list(pointers)))
    shown = run("value", str(file), "--region", "XO-KEL").stdout.split("\n\n")
    return {title: " ".join(rest.split()) for title, _, rest in (one.partition("\n") for one in shown)}


def test_each_figure_of_work_says_whose_it_is(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What the rulebook and what members say of the same work stand under titles that tell them apart, and
    what takes no work under one of its own.
    """
    says = {"says": "take it apart: + 1.81 for 11.5 minutes"}
    shown = sections(fake, run, tmp_path / "parts.csv", {**pointer(0, "1.81"), **says}, HOLD)
    assert "Open it: motor 15 min 0.44 1.76" in shown[RULEBOOKS]
    assert shown[RULEBOOKS].endswith("Minutes, and how much comes off, as rulebook 2018.1 has them.")
    assert shown[MEMBERS].startswith("- take it apart: + 1.81 for 11.5 minutes")
    assert shown[MEMBERS].endswith("Minutes, and what came out, as members found them in theirs.")
    assert shown["What else would pay"] == "- hold it"


@pytest.mark.parametrize("pointed", [[], [HOLD]])
def test_nobodys_minutes_are_not_spoken_of(
    fake: FakeGradewright, run: Run, tmp_path: Path, pointed: list[dict[str, object]]
) -> None:
    """Where no member has taken such a part apart, nothing is said of what members found."""
    shown = sections(fake, run, tmp_path / "parts.csv", *pointed)
    assert RULEBOOKS in shown
    assert MEMBERS not in shown
    assert not any("members" in one for one in shown.values())
    assert ("What else would pay" in shown) is bool(pointed)
