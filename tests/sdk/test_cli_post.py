"""gradewright-client post: prices as people write them, and what becomes of them."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import PriceSeen
from gradewright_sdk.cli._seen import seen
from gradewright_sdk.cli._values import BadValue
from gradewright_sdk.testing import FakeGradewright, samples

POST = ["post", "--yard", "low-quay", "--observed-on", "2026-05-03", "--evidence", "sign"]


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("copper-no2 3.35 USD/lb", PriceSeen("3.35", "USD", "lb", grade="copper-no2")),
        ("  copper-no2  3.35  usd / lb ", PriceSeen("3.35", "USD", "lb", grade="copper-no2")),
        (
            "copper-no2 3.35 USD/lb from 100 lb",
            PriceSeen("3.35", "USD", "lb", grade="copper-no2", from_weight="100 lb"),
        ),
        ("steel-heavy 195 USD/gross ton", PriceSeen("195", "USD", "gross ton", grade="steel-heavy")),
        (
            "steel-heavy 195 USD/gross ton from 1 short ton",
            PriceSeen("195", "USD", "gross ton", grade="steel-heavy", from_weight="1 short ton"),
        ),
        ('"#2 Cu" 3.10 USD/lb', PriceSeen("3.10", "USD", "lb", label="#2 Cu")),
        ("'#2 Cu' 3.10 USD/lb", PriceSeen("3.10", "USD", "lb", label="#2 Cu")),
        ("crt -0.10 USD/lb", PriceSeen("-0.10", "USD", "lb", grade="crt")),
        ("No. 2 copper 3.35 USD/lb", PriceSeen("3.35", "USD", "lb", grade="No. 2 copper")),
        ("copper no2 3.35 USD/lb", PriceSeen("3.35", "USD", "lb", grade="copper no2")),
        (
            "Insulated copper wire, 60 %  1.80 USD/lb from 100 lb",
            PriceSeen("1.80", "USD", "lb", grade="Insulated copper wire, 60 %", from_weight="100 lb"),
        ),
        ("10/10 extrusion 1.2 USD/lb", PriceSeen("1.2", "USD", "lb", grade="10/10 extrusion")),
        ("cat 5 0.90 USD/lb", PriceSeen("0.90", "USD", "lb", grade="cat 5")),
        ('"1/2" pipe, \'red\'" 2 USD/lb', PriceSeen("2", "USD", "lb", label="1/2\" pipe, 'red'")),
    ],
)
def test_price_as_written(text: str, price: PriceSeen) -> None:
    """A price on the command line is a grade or a quoted label, an amount, a currency per unit, perhaps
    from a weight.
    """
    assert seen(text) == price


@pytest.mark.parametrize(
    "text",
    [
        "",
        "copper-no2",
        "copper-no2 3.35",
        "copper-no2 USD/lb",
        "copper-no2 3,35 USD/lb",
        "copper-no2 3.35 $/lb",
        "copper-no2 ٣ USD/lb",
        "copper-no2 from 100 lb 3.35 USD/lb",
        "copper-no2 3.35 USD/lb copper-no1 3.60 USD/lb",
        "copper-no2 3.35 3.60 USD/lb",
        '"#2 Cu 3.35 USD/lb',
        '"#2 Cu" copper 3.35 USD/lb',
        '"" 3.35 USD/lb',
    ],
)
def test_price_that_is_none(text: str) -> None:
    """What is no price says how to write one."""
    with pytest.raises(BadValue, match=r"write copper-no2 3\.35 USD/lb"):
        seen(text)


@pytest.mark.parametrize(
    ("text", "amiss"),
    [
        ("copper-no2 $3.35/lb", ": the currency stands behind the amount, by its code; write"),
        ("copper-no2 3,35 USD/lb", ": the amount has a comma, and a point is needed; write"),
        ("copper-no2 3.35/lb", ": it says no currency; write"),
        ("copper-no2 3.35 USD", ": it does not say for how much that is; write"),
        ("3.35 USD/lb", ": it names no grade and no label; write"),
        ("copper-no2", " is no price; write"),
    ],
)
def test_what_is_amiss_is_told(text: str, amiss: str) -> None:
    """What most people write otherwise is named, and what is not clear is not guessed."""
    with pytest.raises(BadValue) as refused:
        seen(text)
    assert amiss.lstrip() in refused.value.says


def test_post_prices(fake: FakeGradewright, run: Run) -> None:
    """Prices of the options are posted in one posting, and what was stored is shown."""
    fake.answer("POST", "/v1/postings", samples.posting(note="by the gate"), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting(note="by the gate"))
    fake.answer("GET", "/v1/prices", samples.price_list())
    prices = ["--price", "copper-no2 3.35 USD/lb from 100 lb", "--price", '"#2 Cu" 3.1 usd/lb']
    result = run(*POST, *prices, "--note", "by the gate")
    assert result.exit_code == 0
    assert fake.requests[0].json == {
        "yard": "low-quay",
        "observed_on": "2026-05-03",
        "evidence": "sign",
        "note": "by the gate",
        "prices": [
            {"grade": "copper-no2", "price": "3.35", "currency": "USD", "per": "lb", "from_weight": "100 lb"},
            {"label": "#2 Cu", "price": "3.1", "currency": "USD", "per": "lb"},
        ],
    }
    shown = words(result.stdout)
    assert "Stored as p-1, ledger revision 313, posted by wren" in shown
    assert "copper-no2 - 3.35 USD lb -" in shown
    assert "by the gate" in shown


@pytest.mark.parametrize("source", ["file", "-"])
def test_post_a_file(fake: FakeGradewright, run: Run, tmp_path: Path, source: str) -> None:
    """Prices are posted from a CSV file or from standard input; --json prints the posting."""
    text = "grade,label,price,currency,per,from weight\ncopper-no2,,3.35,usd,lb,100 lb\n,#2 Cu,3.10,USD,lb,\n"
    file = tmp_path / "seen.csv"
    file.write_text(text)
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting())
    result = run(*POST, str(file) if source == "file" else "-", "--json", input=text)
    assert json.loads(result.stdout) == samples.posting()
    assert fake.requests[0].json["prices"] == [
        {"grade": "copper-no2", "price": "3.35", "currency": "USD", "per": "lb", "from_weight": "100 lb"},
        {"label": "#2 Cu", "price": "3.10", "currency": "USD", "per": "lb"},
    ]


def test_faulty_price_file(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """All faults of a price file are told by line, and nothing is posted."""
    file = tmp_path / "seen.csv"
    file.write_text("grade,label,price,currency,per\nx,y,1,USD,lb\n,,3$,USD,lb\nx,,1,,\nx,,1,USD,lb,100 lb\n")
    result = run(*POST, str(file))
    assert result.exit_code == 2
    assert result.stderr.splitlines() == [
        f"{file}: line 2, grade: give a grade or the yard's label, one of them.",
        f"{file}: line 3, grade: give a grade or the yard's label, one of them.",
        f"{file}: line 3, price: '3$' is no amount; write digits, such as 3.35.",
        f"{file}: line 4, currency: is blank.",
        f"{file}: line 4, per: is blank.",
        f"{file}: line 5: 6 cells under 5 columns; a ',' inside a value needs quotes.",
        "Nothing was posted.",
    ]
    assert not fake.requests


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("grad,price,currency,per\n", "'grad' is no column; they are grade, label, price"),
        ("price,currency\n", "missing columns: grade or label, per"),
        ("grade,price,currency,per\n", "there is no price in the file"),
        ("copper-no2,3.35,USD,lb\n", "is the header missing? The first line names the columns, grade, label"),
        ("grade,price,currency,per,\na,1,USD,lb,5", "'5' stands in column 5, which has no name"),
        ("", "there is no price in the file"),
    ],
)
def test_price_file_without_its_columns(run: Run, text: str, says: str) -> None:
    """A price file with wrong columns, or without prices, says so."""
    result = run(*POST, "-", input=text)
    assert result.exit_code == 2
    assert says in result.stderr


@pytest.mark.parametrize(
    ("arguments", "input", "place"),
    [
        (["-"], "grade,price,currency,per\na,1,USD,lb\n\nb,1,USD,lb\n", "-: line 4, currency: "),
        (["--price", "a 1 USD/lb", "--price", "b 1 USD/lb"], None, "--price number 2, currency: "),
    ],
)
def test_refused_price_is_pointed_at(
    fake: FakeGradewright, run: Run, arguments: list[str], input: str | None, place: str
) -> None:
    """A price that the service refuses is told by the line of the file, or by which --price it was."""
    errors = [{"detail": "the yard pays in CAD", "pointer": "#/prices/1/currency", "suggestions": ["CAD"]}]
    fake.problem("POST", "/v1/postings", "currency-mismatch", errors=errors)
    result = run(*POST, *arguments, input=input)
    assert result.exit_code == 1
    assert f"{place}the yard pays in CAD. Did you mean CAD?" in result.stderr
    assert "Nothing was posted." in result.stderr


def test_a_grade_in_quotes_is_told_to_be_a_label(fake: FakeGradewright, run: Run) -> None:
    """Of an unknown label the command says how a grade's name is written: without quotes of its own."""
    detail = "'bare bright' is not a label of low-quay. It is a name of the grade copper-bright."
    errors = [{"detail": detail, "pointer": "#/prices/0/label"}]
    fake.problem("POST", "/v1/postings", "unknown-grade", errors=errors)
    told = words(run(*POST, "--price", '"bare bright" 3.93 USD/lb').stderr)
    assert f"--price number 1, label: {detail} What stands in quotes of its own is the yard's label" in told
    assert "without them it is a grade, or one of its names." in told


def test_what_is_near_is_told_once(fake: FakeGradewright, run: Run) -> None:
    """Labels that the service's sentence names already are not told again."""
    detail = "'#9 Cu' is not a label of low-quay. Its nearest labels: '#1 Cu', '#2 Cu'. It is not guessed."
    errors = [{"detail": detail, "pointer": "#/prices/0/label", "suggestions": ["#1 Cu", "#2 Cu"]}]
    fake.problem("POST", "/v1/postings", "unknown-grade", errors=errors)
    told = run(*POST, "--price", '"#9 Cu" 3.93 USD/lb').stderr
    assert "Its nearest labels: '#1 Cu', '#2 Cu'." in told
    assert "Did you mean" not in told


def test_where_the_grades_are_listed_is_told(fake: FakeGradewright, run: Run) -> None:
    """The service's list of grades is a command here."""
    errors = [
        {"detail": "'x' is not a grade. See the rulebook's list of grades.", "pointer": "#/prices/0/grade"}
    ]
    fake.problem("POST", "/v1/postings", "unknown-grade", errors=errors)
    told = words(run(*POST, "--price", "x 1 USD/lb").stderr)
    assert "'x' is not a grade. `gradewright-client grades` lists them." in told
    lines = [{"detail": errors[0]["detail"], "pointer": "#/lines/2/grade"}]
    fake.problem("POST", "/v1/yards/low-quay/lists", "unknown-grade", errors=lines)
    command = ["upload", "-", "--yard", "low-quay", "--observed-on", "2026-05-03"]
    told = words(run(*command, input="grade,price\nx,1\n").stderr)
    assert "`gradewright-client grades` lists them." in told


def test_post_needs_prices_once(run: Run, fake: FakeGradewright) -> None:
    """Neither a file nor --price, or both, is wrong usage."""
    assert run(*POST).exit_code == 2
    assert run(*POST, "-", "--price", "a 1 USD/lb").exit_code == 2
    assert not fake.requests


@pytest.mark.parametrize(
    ("slug", "code", "says"),
    [
        ("unauthorized", 1, "GRADEWRIGHT_KEY"),
        ("forbidden", 1, "ask a maintainer"),
        ("unknown-yard", 1, "gradewright-client yards"),
        ("internal-error", 1, "request id"),
        ("conflict", 1, "Set by a test."),
    ],
)
def test_service_says_no(fake: FakeGradewright, run: Run, slug: str, code: int, says: str) -> None:
    """When the service says no the command ends with 1 and says what to do, without a traceback."""
    fake.problem("POST", "/v1/postings", slug)
    result = run(*POST, "--price", "a 1 USD/lb")
    assert result.exit_code == code
    assert says in words(result.stderr)
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


def seen_on(fake: FakeGradewright, day: str) -> None:
    """A posting of that day, recorded on 2026-05-04, under a rulebook by which prices count for 120 days."""
    fake.answer("POST", "/v1/postings", samples.posting(observed_on=day), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting(observed_on=day))
    fake.answer("GET", "/v1/prices", samples.price_list())
    fake.answer("GET", "/v1/rulebooks/in-force", {**samples.rulebook(), "pricing": {"stale_after": 120}})


@pytest.mark.parametrize(("day", "old"), [("2026-01-03", True), ("2026-01-04", False), ("2026-05-04", False)])
def test_what_is_too_old_to_count_is_told(fake: FakeGradewright, run: Run, day: str, old: bool) -> None:
    """Prices that were seen longer ago than they count are told to be in no list of today, to the day."""
    seen_on(fake, day)
    told = words(run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout)
    says = "Seen 121 days ago it counts in no price list of today, as prices count for 120 days; those of"
    assert (f"{says} days before 2026-05-04 count what does not wait there." in told) is old
    assert "could not be asked" not in told


STALE = [samples.posted_price(status="stale"), samples.posted_price(line=2, price="33.0", status="stale")]


@pytest.mark.parametrize("command", ["post", "correct"])
def test_what_waits_in_the_list_of_its_own_day_is_told(fake: FakeGradewright, run: Run, command: str) -> None:
    """What is too old for today is asked for as it stands on its own day: what waits there is told with its
    figures and the command that puts it right, and is no slip that counts."""
    seen_on(fake, "2026-01-03")
    old = samples.posting(observed_on="2026-01-03", prices=STALE)
    fake.answer("POST", "/v1/postings", old, status=201)
    corrected = samples.correction(posting={**old, "id": "p-1"})
    fake.answer("POST", "/v1/postings/p-0/correction", corrected, status=201)
    fake.answer("GET", "/v1/postings/p-0", samples.posting(id="p-0"))
    then = {**old, "prices": [samples.posted_price(), samples.held_price(line=2)]}
    words_ = {"post": POST, "correct": ["correct", "p-0", "--reason", "a slip", "--line", "1"]}[command]
    fake.answer("GET", "/v1/postings/p-1", then)
    fake.answer("GET", "/v1/postings/p-1", old, times=1)
    shown = words(run(*words_, "--price", "copper-no2 3.35 USD/lb").stdout)
    asked = [one.query for one in fake.requests if one.path == "/v1/postings/p-1"]
    assert {"on": "2026-01-03", "known_at": str(old["revision"])} in asked
    told = (
        "1 price waits in the list of 2026-01-03 and does not count yet: line 2, copper-no2 33.0 USD/lb: At 3"
    )
    assert told in shown
    assert "`gradewright-client correct p-1 --line 2 --price … --reason …` puts it right" in shown
    assert "it counts, and is" not in shown


def test_what_a_newer_price_stands_in_place_of_is_told(fake: FakeGradewright, run: Run) -> None:
    """Of lines with newer prices of the same member it is told that they do not count today; what of them
    waits in the list of their own day is told as such, and not once more as a slip."""
    seen_on(fake, "2026-04-20")
    prices = [
        samples.posted_price(line=n, price=p, status="overtaken") for n, p in ((1, "3.35"), (2, "33.0"))
    ]
    today = samples.posting(observed_on="2026-04-20", prices=[*prices, samples.posted_price(line=3)])
    own = [samples.posted_price(), samples.held_price(line=2), samples.posted_price(line=3)]
    fake.answer("POST", "/v1/postings", today, status=201)
    fake.answer("GET", "/v1/postings/p-1", {**today, "prices": own})
    fake.answer("GET", "/v1/postings/p-1", today, times=1)
    shown = words(run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout)
    told = "Lines 1 to 2 do not count today, as a newer price of yours stands in its place; in lists of days"
    assert told in shown
    assert "1 price waits in the list of 2026-04-20 and does not count yet: line 2, copper-no2 33.0" in shown
    assert "10 times what was paid there before" not in shown  # it is told to wait
    assert shown.count("line 2,") == 1


def test_a_price_of_tomorrow_says_from_when_on_it_counts(fake: FakeGradewright, run: Run) -> None:
    """A yard may be a day ahead of Greenwich, by whose days lists are made."""
    seen_on(fake, "2026-05-05")
    shown = words(run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout)
    assert "It is in lists from 2026-05-05 on (days as in UTC)." in shown
    seen_on(fake, "2026-05-04")
    assert "It is in lists from" not in run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout


def test_how_it_stands_on_its_own_day_may_not_be_known(fake: FakeGradewright, run: Run) -> None:
    """Where that cannot be had it is stored all the same, and what is not known is said."""
    seen_on(fake, "2026-01-03")
    old = samples.posting(observed_on="2026-01-03", prices=STALE)
    fake.answer("POST", "/v1/postings", old, status=201)
    fake.lose("GET", "/v1/postings/p-1")
    fake.answer("GET", "/v1/postings/p-1", old, times=1)
    result = run(*POST, "--price", "copper-no2 3.35 USD/lb")
    assert result.exit_code == 0
    assert "It is stored; whether any price of it waits could not be asked." in words(result.stdout)


FAR = [
    (
        "33.5",
        "lb",
        "yard",
        "it counts, and is 10 times what was paid there before, 3.35 USD/lb, seen on 2026-05-02.",
    ),
    ("0.335", "lb", "yard", "it counts, and is 10 % of what was paid there before, 3.35 USD/lb"),
    ("36.93", "kg", "region", "it counts, and is 5 times what was paid in XO-KEL before, 7.3855 USD/kg"),
    ("16.7", "lb", "yard", None),
    ("0.68", "lb", "yard", None),
    (
        "33.5",
        "lb",
        "kin",
        "it counts, and is 10 times what the list had before, 3.35 USD/lb: 3 yards, newest 2 days old.",
    ),
    ("16.7", "lb", "kin", None),
    ("-33.5", "lb", "yard", None),
    ("33.5", "stone", "yard", None),
]


@pytest.mark.parametrize(("amount", "per", "kind", "says"), FAR)
def test_a_price_that_counts_and_is_far_off_is_told(
    fake: FakeGradewright, run: Run, amount: str, per: str, kind: str, says: str | None
) -> None:
    """Five times what was paid before, or a fifth of it, is told with the way to put it right, whatever the
    price of before rested on; what is nearer and what cannot be compared is not."""
    stored = samples.posting(prices=[samples.posted_price(price=amount, per=per)])
    fake.answer("POST", "/v1/postings", stored, status=201)
    fake.answer("GET", "/v1/postings/p-1", stored)
    before = samples.price(basis=samples.basis(kind=kind))
    fake.answer("GET", "/v1/prices", samples.price_list(before))
    told = words(run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout)
    assert ("it counts, and is" in told) is (says is not None)
    assert says is None or f"line 1, copper-no2 {amount} USD/{per}: {says}" in told
    assert ("`gradewright-client correct p-1 --line 1 --price" in told) is (says is not None)
    if per != "stone" and not amount.startswith("-"):
        asked = {"yard": "low-quay", "on": "2026-05-03", "known_at": "312", "grade": "copper-no2"}
        assert fake.requests[-1].query == asked


def test_whether_it_is_far_off_may_not_be_known(fake: FakeGradewright, run: Run) -> None:
    """Where the prices of before cannot be had it is stored all the same; where there were none that is not
    told."""
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting())
    fake.lose("GET", "/v1/prices")
    result = run(*POST, "--price", "copper-no2 3.35 USD/lb")
    assert result.exit_code == 0
    assert "Whether a price of it is far from what was paid there before could not be asked." in words(
        result.stdout
    )
    fake.answer("GET", "/v1/prices", {**samples.price_list(), "prices": []})
    assert "before" not in run(*POST, "--price", "copper-no2 3.35 USD/lb").stdout


def test_whether_it_is_too_old_may_not_be_known(fake: FakeGradewright, run: Run) -> None:
    """Where the rulebook cannot be had the prices are stored all the same, and what is not known is said."""
    seen_on(fake, "2026-01-03")
    fake.lose("GET", "/v1/rulebooks/in-force")
    result = run(*POST, "--price", "copper-no2 3.35 USD/lb")
    assert result.exit_code == 0
    assert "Whether it was seen too long ago to count could not be asked." in words(result.stdout)


def test_an_old_list_is_told(fake: FakeGradewright, run: Run) -> None:
    """A whole list that was seen too long ago is told so before it is stored."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    fake.answer("POST", "/v1/yards/low-quay/lists", samples.list_compared(observed_on="2020-05-04"))
    fake.answer("GET", "/v1/rulebooks/in-force", {**samples.rulebook(), "pricing": {"stale_after": 120}})
    command = ["upload", "-", "--yard", "low-quay", "--observed-on", "2020-05-04", "--dry-run"]
    told = words(run(*command, input="grade,price\ntin,1\n").stdout)
    assert "it counts in no price list of today, as prices count for 120 days" in told


@pytest.mark.parametrize("command", ["post", "upload"])
def test_without_a_day_it_was_seen_today(
    fake: FakeGradewright, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """Today is by the calendar of whoever posts, not by that of Greenwich."""
    for path in ("/v1/postings", "/v1/yards/low-quay/lists"):  # what was sent is all that is asked here
        fake.answer("POST", path, {"title": "no", "detail": "no"}, status=422)
    (tmp_path / "list.csv").write_text("grade,price,currency,per\ncopper-no2,3.35,USD,lb\n")
    days = set()
    for zone in ("UTC+12", "UTC-14"):  # which POSIX counts westwards: half a day behind, more than half ahead
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        run(command, str(tmp_path / "list.csv"), "--yard", "low-quay", "--evidence", "sign")
        sent = next(one for one in fake.requests if one.method == "POST")
        days.add(sent.query.get("observed_on") or sent.json["observed_on"])
        fake.requests.clear()
    monkeypatch.delenv("TZ")
    time.tzset()
    assert len(days) == 2
