"""gradewright-client grade: asking for one test after the other."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, Recorded, samples


def words(text: str) -> str:
    return " ".join(text.split())


ORDER = ("metal", "soldered", "made_year")


def service(request: Recorded) -> dict[str, Any]:
    """Decides by metal, then by solder or a year; asks in that order, but for what is skipped."""
    observed, skip = request.json["observed"], request.json.get("skip", [])
    if "metal" in observed and ("soldered" in observed or "made_year" in observed):
        return samples.grading(cautions=[{"id": "d", "name": "Lead", "says": "Wear gloves.", "source": "x"}])
    name = next((name for name in ORDER if name not in observed and name not in skip), None)
    if name is None:
        return samples.undecided(next_test=None)
    return samples.undecided(
        next_test={"attribute": name, **samples.rulebook()["attributes"][name]},
        trace=[{"rule": "thin-copper", "grade": "copper-no2", "holds": False, "why": "c"}],
    )


@pytest.fixture
def grading(fake: FakeGradewright, run: Run) -> FakeGradewright:
    fake.answer("GET", "/v1/rulebooks/*", samples.rulebook())
    fake.answer("POST", "/v1/gradings", service)
    return fake


def test_asks_until_decided(grading: FakeGradewright, run: Run) -> None:
    """It asks what the service wants to know next, shows how to tell, and stops when it is decided."""
    result = run("grade", "--region", "XO-KEL", "--input", input="1\nyes\n")
    shown = words(result.stdout)
    assert result.exit_code == 0
    for text in (
        "2 grades left: Copper No. 2 3.35 USD/lb; Copper No. 1 What metal is it?",
        "What metal is it? 1) copper: red when filed 2) steel: a magnet sticks",
        "Test: file a corner bright, then a magnet (0.5 min)",
        "Beware: plated steel looks like copper",
        "Is there solder on it? yes or no",
        "Copper No. 2 This is Copper No. 2. Soldered copper is No. 2.",
        "Rule soldered-copper (common practice)",
        "! Lead: Wear gloves.",
        "By rulebook 2018.1, from: metal=copper soldered=yes",
    ):
        assert text in shown
    sent = [request.json for request in grading.requests if request.method == "POST"]
    assert [one["observed"] for one in sent] == [
        {},
        {"metal": "copper"},
        {"metal": "copper", "soldered": True},
    ]
    assert all(one["rulebook"] == "2018.1" and one["region"] == "XO-KEL" for one in sent)


def test_candidates_shrink(grading: FakeGradewright, run: Run) -> None:
    """After each answer it says how many grades are left, of how many, and which pay the most."""
    left = iter([many("1.00", "9.00", "2.50", "0.05", None), many("2.50", "1.00"), many("2.50")])

    def narrowing(_: Recorded) -> dict[str, Any]:
        candidates = next(left)
        return samples.undecided(candidates=candidates, may_be_ungraded=len(candidates) == 1)

    grading.answer("POST", "/v1/gradings", narrowing)
    shown = words(run("grade", "--region", "XO-KEL", "--input", input="yes\nno\nstop\n").stdout)
    parts = (
        "5 grades left, from 0.05 to 9.00 USD/lb: "
        "Grade 1 9.00 USD/lb; Grade 2 2.50 USD/lb; Grade 0 1.00 USD/lb and 2 more",
        "2 grades left of 5: Grade 0 2.50 USD/lb; Grade 1 1.00 USD/lb",
        "1 grade left of 2, or none: Grade 0 2.50 USD/lb",
    )
    places = [shown.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)


def unworthy(lowest: str = "2.45", highest: str = "2.50") -> dict[str, Any]:
    spread = f"{Decimal(highest) - Decimal(lowest)}"
    return samples.undecided(
        next_test=None,
        candidates=many(highest, lowest),
        not_worth={
            "cheapest": "g-1", "dearest": "g-0", "lowest": lowest, "highest": highest, "spread": spread,
            "per": "lb", "share": "2 %", "within": "5 %",
        },
    )  # fmt: skip


@pytest.mark.parametrize("option", ["--input", "--no-input"])
def test_not_worth_finding_out(grading: FakeGradewright, run: Run, option: str) -> None:
    """Where all that is left pays nearly the same it stops and says so, with the spread and against what."""
    grading.answer("POST", "/v1/gradings", unworthy())
    result = run("grade", "--region", "XO-KEL", option, input="yes\n")
    shown = words(result.stdout)
    assert result.exit_code == 0
    assert (
        "Not worth finding out which: they pay from 2.45 to 2.50 USD/lb, 0.05 apart. That is 2 % of the "
        "dearest; up to 5 % counts as alike (--alike-within)."
    ) in shown
    assert "Grade 0 (g-0)" in shown
    assert "no further test" not in shown
    assert "What would settle it" not in shown


def test_the_same_price(grading: FakeGradewright, run: Run) -> None:
    """Where all that is left pays the same, one price is told."""
    grading.answer("POST", "/v1/gradings", unworthy("2.50", "2.50"))
    shown = words(run("grade", "--region", "XO-KEL", "--no-input").stdout)
    assert "Not worth finding out which: each pays 2.50 USD/lb." in shown


def test_not_worth_the_minutes(grading: FakeGradewright, run: Run) -> None:
    """With --hour-rate and --weight it stops where finding out costs more than it adds, and says both."""
    answer = unworthy()
    answer["not_worth"] |= {
        "within": None, "weight": "50 g", "adds": "0.02", "minutes": "0.3", "costs": "0.06",
    }  # fmt: skip
    grading.answer("POST", "/v1/gradings", answer)
    result = run("grade", "--region", "XO-KEL", "--no-input", "--hour-rate", "12", "--weight", "50 g")
    sent = grading.requests[-1].json
    assert (sent["hour_rate"], sent["weight"]) == ("12", "50 g")
    assert (
        "Not worth finding out which: it adds 0.02 USD on average to 50 g, and takes 0.3 min, which cost "
        "0.06 (--hour-rate)."
    ) in words(result.stdout)


def test_a_danger_is_found_out_all_the_same(grading: FakeGradewright, run: Run) -> None:
    """Where only a danger depends on the answer it says so, with the service's own reason, and asks."""
    why = "The prices are nearly the same, but what is not known decides on a danger (Oil in old capacitors)."
    grading.answer("POST", "/v1/gradings", in_doubt_as(why))
    shown = words(run("grade", "--region", "XO-KEL", "--input", input="stop\n").stdout)
    assert f"{why} Is there solder on it?" in shown
    assert "answered" not in shown


def in_doubt_as(why: str) -> dict[str, Any]:
    """An answer that goes on for a danger alone, for the reason `why`."""
    doubt = [{"id": "o", "name": "Oil in old capacitors", "says": "Leave it.", "source": "x"}]
    says = f"It may be Copper No. 1 or Copper No. 2. {why} Is there solder on it?"
    return samples.undecided(in_doubt=doubt, says=says)


def test_what_was_skipped_is_said_where_only_a_danger_is_left(grading: FakeGradewright, run: Run) -> None:
    """What was answered with don't know is named, and not that little money depends on it."""
    why = "Nothing that can be told settles the grade, but a danger depends on it (Oil in old capacitors)."

    def answer(request: Recorded) -> dict[str, Any]:
        return in_doubt_as(why) if request.json.get("skip") else service(request)

    grading.answer("POST", "/v1/gradings", answer)
    shown = words(run("grade", "--input", input="\nstop\n").stdout)
    assert f'{why} You answered "don\'t know" to: metal. Is there solder on it?' in shown
    assert "Little money" not in shown


def test_a_question_mark_explains(grading: FakeGradewright, run: Run) -> None:
    """`?` answers nothing: the test and what each answer means are told, and it asks the same again."""
    shown = words(run("grade", "--input", input="?\n1\nyes\n").stdout)
    assert shown.count("Test: file a corner bright, then a magnet (0.5 min)") == 2
    assert "Enter you do not know, or cannot test it: another test is asked for" in shown
    assert all("skip" not in one.json for one in grading.requests if one.method == "POST")
    assert grading.requests[-1].json["observed"] == {"metal": "copper", "soldered": True}


def test_how_near_is_alike_can_be_said(grading: FakeGradewright, run: Run) -> None:
    """--alike-within goes to the service as it is written; without it the service's own share holds."""
    run("grade", "metal=copper", "--region", "XO-KEL", "--alike-within", "0 %", "--no-input")
    assert grading.requests[-1].json["alike_within"] == "0 %"
    run("grade", "metal=copper", "--region", "XO-KEL", "--no-input")
    assert "alike_within" not in grading.requests[-1].json


def test_dont_know_asks_about_something_else(grading: FakeGradewright, run: Run) -> None:
    """Enter skips an attribute: the service is told so, asks for another, and that can decide it."""
    result = run("grade", "metal=copper", "--input", input="\n1940\n")
    shown = words(result.stdout)
    assert "Is there solder on it?" in shown
    assert "When was it made?" in shown
    assert "Copper No. 2 This is Copper No. 2." in shown
    last = grading.requests[-1].json
    assert (last["observed"], last["skip"]) == ({"metal": "copper", "made_year": 1940}, ["soldered"])


def test_nothing_more_to_ask(grading: FakeGradewright, run: Run) -> None:
    """When all that is open was skipped it says so, and what would settle it."""
    result = run("grade", "metal=copper", "--input", input="\n?\n\n\n")
    shown = words(result.stdout)
    assert result.exit_code == 0
    assert "Nothing more can be asked" in shown
    assert "What would settle it: made_year, soldered" in shown
    assert "Copper No. 2 (copper-no2) 3.20 3.35 3.50 USD/lb Copper No. 1 (copper-no1) - - - By" in shown


def test_no_further_test(grading: FakeGradewright, run: Run) -> None:
    """If the service knows no further test it says so instead of asking on."""
    grading.answer("POST", "/v1/gradings", samples.undecided(next_test=None))
    assert "no further test" in run("grade", "--input", input="").stdout


@pytest.mark.parametrize("input", ["stop\n", "q\n", ""])
def test_stopping(grading: FakeGradewright, run: Run, input: str) -> None:
    """It can be stopped, or its input can end, and it shows how far it got."""
    result = run("grade", "metal=copper", "--input", input=input)
    assert result.exit_code == 0
    assert "Next: Is there solder on it?" in result.stdout


def test_answer_that_cannot_be_read_is_asked_for_again(grading: FakeGradewright, run: Run) -> None:
    """An answer that is none of the choices is asked for again, with what may be meant."""
    result = run("grade", "--input", input="3\ncoper\nCOPPER\nmaybe\nno\n")
    shown = words(result.stdout)
    assert "'3' is none of copper, steel" in shown
    assert "Did you mean copper?" in shown
    assert "'maybe' is neither yes nor no" in shown
    assert grading.requests[-1].json["observed"] == {"metal": "copper", "soldered": False}


def test_only_the_choices_that_the_service_offers_are_shown(grading: FakeGradewright, run: Run) -> None:
    """Numbers count the choices that a part can still have; another one is taken where it is written out."""
    test = samples.next_test(attribute="metal", kind="choice", choices={"steel": "a magnet sticks"})
    grading.answer("POST", "/v1/gradings", samples.undecided(next_test=test))
    shown = run("grade", "--input", input="1\ncopper\nstop\n").stdout
    assert "1) steel: a magnet sticks" in shown
    assert "red when filed" not in shown
    sent = [request.json["observed"] for request in grading.requests if request.method == "POST"]
    assert sent == [{}, {"metal": "steel"}, {"metal": "copper"}]


def test_answer_that_the_service_does_not_take(grading: FakeGradewright, run: Run) -> None:
    """An answer that the service refuses is not kept, and the question comes again."""
    errors = [{"detail": "not on this one", "pointer": "#/observed/soldered"}]

    grading.problem("POST", "/v1/gradings", "invalid-request", "Look at it.", errors=errors, times=1)
    grading.answer("POST", "/v1/gradings", service, times=1)
    result = run("grade", "metal=copper", "--input", input="yes\nno\n")
    assert "That was not taken: Look at it." in result.stdout
    assert "not on this one" in result.stdout
    sent = [request.json["observed"] for request in grading.requests if request.method == "POST"]
    assert sent == [
        {"metal": "copper"},
        {"metal": "copper", "soldered": True},
        {"metal": "copper", "soldered": False},
    ]


@pytest.mark.parametrize("option", [[], ["--no-input"]])
def test_without_a_terminal(grading: FakeGradewright, run: Run, option: list[str]) -> None:
    """Without a terminal, or with --no-input, it prints candidates and the next test, and asks nothing."""
    result = run("grade", *option, input="copper\n")
    shown = words(result.stdout)
    assert result.exit_code == 0
    assert "undecided" in shown
    assert "Next: What metal is it? (file a corner bright, then a magnet, 0.5 min)" in shown
    assert "metal=copper red when filed" in shown
    assert len([request for request in grading.requests if request.method == "POST"]) == 1


def test_what_is_known(grading: FakeGradewright, run: Run) -> None:
    """attribute=value is typed by the rulebook's kinds before it is sent."""
    run("grade", "metal=Copper", "sticks-to-magnet=no", "thickness=1/4 in", "made_year=1998", "--no-input")
    assert grading.requests[-1].json["observed"] == {
        "metal": "copper",
        "sticks_to_magnet": False,
        "thickness": "1/4 in",
        "made_year": 1998,
    }


@pytest.mark.parametrize(
    ("known", "says"),
    [
        ("metal", "write attribute=value"),
        ("metl=copper", "Did you mean metal?"),
        ("metal=coper", "metal: 'coper' is none of copper, steel. Did you mean copper?"),
        ("thickness=3", "thickness: '3' has no unit; write 3 mm or 3 in."),
    ],
)
def test_what_cannot_be_known(grading: FakeGradewright, run: Run, known: str, says: str) -> None:
    """An observation that cannot be read ends with 2 and says how to write it; nothing is graded."""
    result = run("grade", known)
    assert result.exit_code == 2
    assert says in result.stderr
    assert all(request.method == "GET" for request in grading.requests)


def test_given_twice(grading: FakeGradewright, run: Run) -> None:
    """The same attribute given twice is wrong usage."""
    result = run("grade", "metal=copper", "metal=steel")
    assert result.exit_code == 2
    assert "metal is given twice" in result.stderr


def test_contradiction(grading: FakeGradewright, run: Run) -> None:
    """A description that cannot be is told as such, with why."""
    body = samples.grading(
        outcome="contradiction", grade=None, name=None, rule=None, because="Plated steel.", says="No."
    )
    grading.answer("POST", "/v1/gradings", body)
    shown = words(run("grade", "metal=copper").stdout)
    assert "contradiction No. Plated steel." in shown


def test_trace(grading: FakeGradewright, run: Run) -> None:
    """--trace says of each rule whether it holds, and why not."""
    shown = run("grade", "metal=copper", "--trace").stdout
    assert "thin-copper (copper-no2) does not hold: c" in shown
    assert "thin-copper" not in run("grade", "metal=copper").stdout


def test_trace_of_many_rules(grading: FakeGradewright, run: Run) -> None:
    """Of many rules those that could still hold are told one by one, the others counted by what is known
    that they are against.
    """
    asked = ["aluminium", "steel", "brass", "lead", "tin", "zinc", "iron"]
    trace = [
        *[step(f"metal-{metal}", False, f"metal is copper; {metal} is asked") for metal in asked],
        *[step(f"fan-{n}", False, f"assembly cannot be fan {n} on a part like this") for n in range(3)],
        step("open-one", None, "not known: soldered (yes is asked)"),
        *[step(f"other-{n}", False, f"other-{n} is x; y is asked") for n in range(6)],
    ]
    grading.answer("POST", "/v1/gradings", samples.undecided(trace=trace))
    shown = words(run("grade", "metal=copper", "--trace", "--no-input").stdout)
    assert (
        "16 rules do not hold (--json has each): 7 metal is copper "
        "3 assembly cannot be what they ask for, on a part like this "
        "1 other-0 is x 1 other-1 is x 1 other-2 is x 3 for other reasons "
        "open-one (copper-no2) open: not known: soldered (yes is asked)"
    ) in shown
    assert "metal-steel" not in shown


def step(rule: str, holds: bool | None, why: str) -> dict[str, Any]:
    return {"rule": rule, "grade": "copper-no2", "holds": holds, "why": why}


@pytest.mark.parametrize(
    ("says", "source", "confidence", "shown"),
    [
        ("Copper No. 2. Because.", "common practice", "common-practice", "Because. Rule r (common practice)"),
        ("Copper No. 2.", "FS 200", "published", "Copper No. 2 Rule r (FS 200, published)"),
        ("Copper No. 2, wet.", "FS 200", "disputed", "Copper No. 2, wet. Rule r (FS 200, disputed)"),
        ("Copper No. 2. Because.", None, None, "Because. Rule r (no source)"),
    ],
)
def test_grade_says_nothing_twice(
    grading: FakeGradewright, run: Run, says: str, source: str | None, confidence: str | None, shown: str
) -> None:
    """The name of the grade, the reason and where it is from are each told once."""
    body = samples.grading(says=says, because=None, rule="r", source=source, confidence=confidence)
    grading.answer("POST", "/v1/gradings", body)
    found = words(run("grade", "metal=copper", "--no-input").stdout)
    assert shown in found
    assert found.count("Because.") <= 1
    assert found.count("Copper No. 2") == (2 if "wet" in says else 1)


@pytest.mark.parametrize(
    "says", ["Copper No. 2. Wet. This is disputed. To settle it: Assay it.", "Copper No. 2."]
)
def test_grade_says_what_would_settle_a_disputed_rule(grading: FakeGradewright, run: Run, says: str) -> None:
    """What would settle it is told once, whether or not the service has it in its sentence."""
    body = samples.grading(says=says, because=None, confidence="disputed", settled_by="Assay it.")
    grading.answer("POST", "/v1/gradings", body)
    found = words(run("grade", "metal=copper", "--no-input").stdout)
    assert found.count("To settle it: Assay it.") == found.count("disputed. ") == 1


@pytest.mark.parametrize("option", [[], ["--input"]])
def test_json(grading: FakeGradewright, run: Run, option: list[str]) -> None:
    """--json prints the last grading alone on standard output; questions go to standard error."""
    result = run("grade", "--json", *option, input="1\nyes\n")
    found = json.loads(result.stdout)
    assert found["outcome"] == ("graded" if option else "undecided")
    assert ("What metal is it?" in result.stderr) is bool(option)


def many(*likely: str | None, per: str = "lb") -> list[dict[str, Any]]:
    """Candidates at these prices, a tenth either way."""
    return [
        {"grade": f"g-{n}", "name": f"Grade {n}", "price": price and unit_price(price, per)}
        for n, price in enumerate(likely)
    ]


def unit_price(likely: str, per: str = "lb") -> dict[str, Any]:
    spread = samples.spread(*(f"{Decimal(likely) * Decimal(times)}" for times in ("0.9", "1", "1.1")))
    return {**spread, "per": per, "basis": samples.basis()}


def test_many_candidates_are_summed_up(grading: FakeGradewright, run: Run) -> None:
    """Of many candidates it says how many and between which prices, then what to look at next, and then the
    eight dearest from the dearest down.
    """
    candidates = many(*(f"{n}.5" for n in range(10)), None, "-0.25")
    says = "It can still be any of twelve."
    grading.answer(
        "POST", "/v1/gradings", samples.undecided(candidates=candidates, says=says, may_be_ungraded=True)
    )
    shown = words(run("grade", "metal=copper", "--no-input").stdout)
    parts = (
        "It can still be any of 12 grades, from -0.25 to 9.50 USD per lb; 1 of them without a price.",
        "Next: Is there solder on it?",
        "The 8 dearest Low Likely High Per Grade 9 (g-9) 8.55 9.50 10.45 USD/lb Grade 8 (g-8) 7.65 8.50",
        "Grade 2 (g-2) 2.25 2.50 2.75 USD/lb and 4 more grades",
        "or nothing that the rulebook has a grade for",
    )
    places = [shown.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)
    assert "Grade 1 " not in shown
    assert says not in shown


@pytest.mark.parametrize("one", [unit_price("400", "gross ton"), None])
def test_prices_that_do_not_compare_are_not_sorted(
    grading: FakeGradewright, run: Run, one: dict[str, Any] | None
) -> None:
    """Prices per different units, or none at all, leave the candidates as they come, and no span is told."""
    candidates = many(*[None if one is None else f"{n}.5" for n in range(9)])
    candidates[0]["price"] = one
    grading.answer("POST", "/v1/gradings", samples.undecided(candidates=candidates))
    shown = words(run("grade", "metal=copper", "--no-input").stdout)
    assert "It can still be any of 9 grades. " in shown
    assert "8 of them" in shown
    assert shown.index("(g-0)") < shown.index("(g-1)") < shown.index("(g-7)")
    assert "(g-8)" not in shown
    assert ("Likely" in shown) is (one is not None)


def test_answers_that_wrap_stay_under_each_other(grading: FakeGradewright, run: Run) -> None:
    """How an answer is recognised goes on to the right of the answer, not below it."""
    test = samples.next_test(attribute="metal", kind="choice", choices={"copper": "red " * 30, "tin": "soft"})
    grading.answer("POST", "/v1/gradings", samples.undecided(next_test=test))
    lines = [line.rstrip() for line in run("grade", "--no-input").stdout.splitlines()]
    first = next(line for line in lines if line.startswith("  metal=copper"))
    assert first.startswith("  metal=copper  red red")
    assert lines[lines.index(first) + 1].startswith(" " * 16 + "red red")
    assert "  metal=tin     soft" in lines


def test_prices_are_those_of_the_day(grading: FakeGradewright, run: Run) -> None:
    """With --on the prices are asked for as of that day, as well as the rulebook."""
    run("grade", "metal=copper", "--region", "XO-KEL", "--on", "2026-05-04", "--no-input")
    assert grading.requests[0].query == {"on": "2026-05-04"}
    assert grading.requests[-1].json["on"] == "2026-05-04"


def test_price_of_the_grade(grading: FakeGradewright, run: Run) -> None:
    """A decided grade comes with its price at the place, and what that rests on."""
    price = {**samples.spread("3.20", "3.35", "3.50"), "per": "lb", "basis": samples.basis()}
    grading.answer("POST", "/v1/gradings", samples.grading(price=price))
    asked = ["grade", "metal=copper", "--on", "2026-05-04"]
    shown = words(run(*asked, "--region", "XO-KEL").stdout)
    assert "3.20 – 3.35 – 3.50 USD per lb (3 yards, 2 days ago)" in shown
    shown = words(run(*asked, "--yard", "low-quay").stdout)
    assert "3.20 – 3.35 – 3.50 USD per lb (3 yards in XO-KEL, 2 days ago)" in shown


def caution(name: str, *, certain: bool) -> dict[str, Any]:
    return {"id": name, "name": name.title(), "says": f"Mind {name}.", "source": "x", "certain": certain}


def test_what_may_hurt_is_told_too(grading: FakeGradewright, run: Run) -> None:
    """What is certain is told before the next test is asked for, and once; at the end also what may apply."""
    cautions = [caution("charge", certain=True), caution("tube", certain=False)]
    grading.answer("POST", "/v1/gradings", samples.undecided(cautions=cautions))
    shown = words(run("grade", "--input", input="yes\nstop\n").stdout)
    asked, ended = shown.split("By rulebook")[0].rsplit("stop = end here)", 1)
    assert asked.count("! Charge: Mind charge. Is there solder on it?") == 1
    assert "Tube" not in asked
    assert (
        "! Charge: Mind charge. May apply: act as if so until you know more of the part: ? Tube: Mind tube."
        in ended
    )


def test_many_that_may_apply_are_named(grading: FakeGradewright, run: Run) -> None:
    """Where nearly anything may apply, each is named; what they say is left to --json."""
    cautions = [caution(f"danger {n}", certain=False) for n in range(9)]
    grading.answer("POST", "/v1/gradings", samples.undecided(cautions=cautions))
    shown = words(run("grade", "--no-input").stdout)
    assert "? Danger 0; Danger 1;" in shown
    assert "Danger 8 What each says is told once fewer are left" in shown
    assert "Mind danger" not in shown
