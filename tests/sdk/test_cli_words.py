"""gradewright-client withdraw, confirm, dispute, decide, correct and held, against the stand-in."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples

REASON = ["--reason", "a slip"]
POST = ["post", "--yard", "low-quay", "--observed-on", "2026-05-03", "--evidence", "sign"]
PRICE = ["--price", "copper-no2 33.0 USD/lb"]
SAYS = samples.held_price()["held"]["says"]
WORDS = [
    (["withdraw"], "withdrawal", {}),
    (["confirm"], "confirmation", {}),
    (["dispute"], "dispute", {}),
    (["decide", "--verdict", "rejected"], "decision", {"verdict": "rejected"}),
    (["correct", *PRICE], "correction", {"prices": [
        {"grade": "copper-no2", "price": "33.0", "currency": "USD", "per": "lb"}
    ]}),
]  # fmt: skip
IDS = [case[0][0] for case in WORDS]


def words(text: str) -> str:
    return " ".join(text.split())


def stored(kind: str) -> Any:
    return samples.correction() if kind == "correction" else samples.word_stored(kind)


@pytest.mark.parametrize(("command", "kind", "more"), WORDS, ids=IDS)
def test_what_is_sent(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, more: dict[str, Any]
) -> None:
    """The reason goes with the lines that are named, or with none for all; --json prints the answer."""
    fake.answer("POST", f"/v1/postings/p-1/{kind}", stored(kind), status=201)
    result = run(command[0], "p-1", *command[1:], *REASON, "--line", "2", "--line", "7", "--json")
    assert (result.exit_code, json.loads(result.stdout)) == (0, stored(kind))
    run(command[0], "p-1", *command[1:], *REASON, *(["--all"] if kind == "correction" else []), "--json")
    named, all_ = fake.requests
    assert named.json == {"reason": "a slip", "lines": [2, 7], **more}
    assert all_.json == {"reason": "a slip", **more}
    assert named.headers["idempotency-key"] != all_.headers["idempotency-key"]


@pytest.mark.parametrize(("command", "kind", "more"), WORDS, ids=IDS)
def test_a_reason_is_asked_for(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, more: dict[str, Any]
) -> None:
    """Without a reason nothing is sent: that is wrong usage, and so is a line 0."""
    result = run(command[0], "p-1", *command[1:])
    assert (result.exit_code, "--reason" in result.stderr) == (2, True)
    assert run(command[0], "p-1", *command[1:], *REASON, "--line", "0").exit_code == 2
    assert not fake.requests


@pytest.mark.parametrize(
    ("command", "kind", "shown"),
    [
        (["withdraw"], "withdrawal", "Taken back: lines 1 to 3, 7, 9 to 10 of p-1"),
        (["confirm"], "confirmation", "Confirmed: lines 1 to 3, 7, 9 to 10 of p-1"),
        (["dispute"], "dispute", "Disputed: lines 1 to 3, 7, 9 to 10 of p-1"),
        (["decide", "--verdict", "accepted"], "decision", "Accepted: lines 1 to 3, 7, 9 to 10 of p-1"),
    ],
)
def test_what_was_said_is_shown(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, shown: str
) -> None:
    """The lines in short, by whom, where it stands in the ledger, and why."""
    fake.answer("POST", "/v1/postings/*", samples.word_stored(kind, lines=[2, 1, 3, 7, 9, 10]), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting())
    said = run(command[0], "p-1", *command[1:], *REASON).stdout.splitlines()
    assert said[0] == shown
    assert said[1].endswith("ledger revision 314: read the wrong line of the board")


def test_what_became_of_it_may_not_be_known(fake: FakeGradewright, run: Run) -> None:
    """Where the posting cannot be read the word is stored all the same, and what is not known is said."""
    fake.answer("POST", "/v1/postings/*", samples.word_stored("confirmation"), status=201)
    fake.lose("GET", "/v1/postings/p-1")
    result = run("confirm", "p-1", *REASON)
    assert result.exit_code == 0
    assert "It is stored; what became of it could not be asked." in words(result.stdout)


@pytest.mark.parametrize(
    ("id", "says"),
    [
        ("c-1", "record KIND --withdraw ID --reason WHY` takes it back"),
        ("v-1", "a kept answer"),
        ("d-1", "a draft"),
    ],
)
def test_an_id_of_something_else_is_told(fake: FakeGradewright, run: Run, id: str, says: str) -> None:
    """What is no posting is told what it is, and which command takes it; nothing is asked."""
    result = run("withdraw", id, *REASON, columns=300)
    assert result.exit_code == 2
    assert says in result.stderr
    assert not fake.requests


OUTWEIGHED = samples.held_price()["held"] | {
    "because": "outlier",
    "says": "At 3 yards others are paid 3.30 USD/lb in the middle. A settled ticket shows it, but those who "
    "dispute it or lately said otherwise there weigh more than those behind it. It counts once those behind "
    "it weigh no less.",
}
REJECTED = samples.posted_price(status="rejected")


@pytest.mark.parametrize(
    ("before", "command", "kind", "told"),
    [
        (
            samples.held_price(held=OUTWEIGHED),
            ["confirm"],
            "confirmation",
            "counts now, as teal confirms it. At 3 yards others are paid 3.30 USD/lb in the middle.",
        ),
        (
            samples.held_price(held=OUTWEIGHED),
            ["decide", "--verdict", "accepted"],
            "decision",
            "counts now, as teal accepted it. At 3 yards others are paid 3.30 USD/lb in the middle.",
        ),
        (
            REJECTED,
            ["decide", "--verdict", "accepted"],
            "decision",
            "counts now, as teal accepted it.",
        ),
        (samples.held_price(), ["dispute"], "dispute", "counts now."),
    ],
)
def test_what_counts_now_is_told_why(
    fake: FakeGradewright, run: Run, before: Any, command: list[str], kind: str, told: str
) -> None:
    """By the word that was said, with what others are paid, and nothing that holds no longer."""
    fake.answer("POST", "/v1/postings/*", samples.word_stored(kind), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=[samples.posted_price()]))
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=[before]), times=1)
    assert words(run(command[0], "p-1", *command[1:], *REASON).stdout).endswith(told)


def test_of_many_lines_the_first_are_told(fake: FakeGradewright, run: Run) -> None:
    """After a word about many lines twenty are told, and where the others are."""
    lines = list(range(1, 31))
    fake.answer("POST", "/v1/postings/*", samples.word_stored("confirmation", lines=lines), status=201)
    fake.answer(
        "GET", "/v1/postings/p-1", samples.posting(prices=[samples.posted_price(line=n) for n in lines])
    )
    told = run("confirm", "p-1", *REASON).stdout
    assert told.count("counts, as before.") == 20
    assert "`gradewright-client show p-1` shows all of them." in told


def test_a_long_posting_is_shown_whole(fake: FakeGradewright, run: Run) -> None:
    """A posting that comes in pages is shown with the lines of all of them."""
    first = samples.posting(next_line=2)
    fake.answer(
        "GET", "/v1/postings/p-1", samples.posting(prices=[samples.posted_price(line=2, grade="tin")])
    )
    fake.answer("GET", "/v1/postings/p-1", first, times=1)
    told = words(run("show", "p-1").stdout)
    assert "1 copper-no2" in told
    assert "2 tin" in told
    assert [sent.query for sent in fake.requests] == [{}, {"from_line": "2"}]


def test_what_waits_may_not_be_readable(fake: FakeGradewright, run: Run) -> None:
    """Where the ledger cannot be asked for what the posting does not show, that is said; all else is told."""
    fake.answer("GET", "/v1/postings/p-1", samples.posting(withheld=1))
    fake.lose("GET", "/v1/ledger/entries")
    told = words(run("show", "p-1").stdout)
    assert "1 copper-no2" in told
    assert "Some of its prices wait and are not shown here: the ledger" in told


def test_one_line_is_one_line(fake: FakeGradewright, run: Run) -> None:
    """A single line is told in the singular; what could steer a terminal is left out of the reason."""
    answer = samples.word_stored(reason="a\x1b[31mslip")
    fake.answer("POST", "/v1/postings/*", answer, status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting())
    shown = run("withdraw", "p-1", *REASON).stdout
    assert "Taken back: line 1 of p-1" in shown
    assert "\x1b" not in shown


FAULT = "Line 2 was taken back by its author: there is nothing left to say of it."


@pytest.mark.parametrize(("command", "kind", "more"), WORDS, ids=IDS)
def test_a_conflict_points_at_the_option(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, more: dict[str, Any]
) -> None:
    """What was said already is told at --line, once, and ends with 1."""
    errors = [{"detail": FAULT, "pointer": "#/lines/0"}]
    fake.problem(
        "POST", f"/v1/postings/p-1/{kind}", "conflict", f"{FAULT} Nothing was stored.", errors=errors
    )
    result = run(command[0], "p-1", *command[1:], *REASON, "--line", "2")
    told = words(result.stderr)
    assert (result.exit_code, result.stdout) == (1, "")
    assert f"--line: {FAULT}" in told
    assert "#/" not in told


@pytest.mark.parametrize(("command", "kind", "more"), WORDS, ids=IDS)
def test_a_refusal_says_who_may(
    fake: FakeGradewright, run: Run, command: list[str], kind: str, more: dict[str, Any]
) -> None:
    """Whose it is to say is told in the service's words, without another advice that contradicts them."""
    why = "p-1 is your own: others confirm or dispute it. You can take it back."
    fake.problem("POST", f"/v1/postings/p-1/{kind}", "forbidden", why)
    result = run(command[0], "p-1", *command[1:], *REASON, *(["--all"] if kind == "correction" else []))
    assert result.exit_code == 1
    assert words(result.stderr).startswith(f"Forbidden: {why} (status 403")
    assert "ask a maintainer" not in result.stderr


def test_a_bad_verdict_points_at_the_option(fake: FakeGradewright, run: Run) -> None:
    """A verdict that is none is told at --verdict, an unknown posting by its id."""
    errors = [{"detail": "write 'accepted' or 'rejected'", "pointer": "#/verdict"}]
    fake.problem("POST", "/v1/postings/p-1/decision", "invalid-request", errors=errors)
    result = run("decide", "p-1", "--verdict", "maybe", *REASON)
    assert "--verdict: write 'accepted' or 'rejected'." in words(result.stderr)
    fake.problem("POST", "/v1/postings/p-2/decision", "not-found", "There is no posting 'p-2'.")
    result = run("decide", "p-2", "--verdict", "accepted", *REASON)
    assert "There is no posting 'p-2'." in words(result.stderr)


def test_a_bad_price_of_a_correction(fake: FakeGradewright, run: Run) -> None:
    """A price that the service refuses is told by which --price it was; one that is none is not sent."""
    errors = [{"detail": "the yard pays in CAD", "pointer": "#/prices/1/currency", "suggestions": ["CAD"]}]
    fake.problem("POST", "/v1/postings/p-1/correction", "currency-mismatch", errors=errors)
    result = run("correct", "p-1", *PRICE, *PRICE, *REASON, "--all")
    assert "--price number 2, currency: the yard pays in CAD. Did you mean CAD?" in result.stderr
    assert words(result.stderr).endswith("Nothing was posted.")
    assert run("correct", "p-1", "--price", "copper", *REASON).exit_code == 2
    assert len(fake.requests) == 1


def test_a_correction_is_shown(fake: FakeGradewright, run: Run) -> None:
    """What was taken back, what stands in its place, and that it waits; the rest is sent if said again."""
    fake.answer("POST", "/v1/postings/p-1/correction", samples.correction(), status=201)
    stands = samples.posting(id="p-2", revision=314, prices=[samples.held_price()])
    fake.answer("GET", "/v1/postings/p-2", stands)
    gone = samples.posting(prices=[samples.posted_price(status="withdrawn", grade="tin", price="9.10")])
    fake.answer("GET", "/v1/postings/p-1", gone)
    again = ["--observed-on", "2026-05-02", "--evidence", "ticket", "--note", "off the ticket"]
    shown = words(run("correct", "p-1", *PRICE, *REASON, "--all", *again).stdout)
    assert shown.startswith("Taken back: line 1 of p-1 By wren, ledger revision 314:")
    assert "line 1, tin 9.10 USD/lb: taken back: it counts no more." in shown
    assert "Stored as p-2, ledger revision 314, posted by wren" in shown
    assert f"1 price waits and does not count yet: line 1, copper-no2 33.0 USD/lb: {SAYS}" in shown
    assert "If it is a slip: `gradewright-client correct p-2 --line 1 --price … --reason …` puts it" in shown
    sent = fake.requests[0].json
    assert [sent[name] for name in ("observed_on", "evidence", "note")] == [
        "2026-05-02",
        "ticket",
        "off the ticket",
    ]
    assert fake.requests[1].query == {"known_at": "314"}


def test_post_tells_what_waits(fake: FakeGradewright, run: Run) -> None:
    """After posting the posting is read as of its own revision: what waits is told with its figures."""
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    prices = [samples.held_price(), samples.posted_price(line=2), samples.held_price(line=3, grade="tin")]
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=prices))
    fake.answer("GET", "/v1/prices", samples.price_list())
    shown = words(run(*POST, *PRICE).stdout)
    assert f"2 prices wait and do not count yet: line 1, copper-no2 33.0 USD/lb: {SAYS} line 3, tin" in shown
    assert "line 2" not in shown
    assert [sent.path for sent in fake.requests] == ["/v1/postings", "/v1/postings/p-1", "/v1/prices"]
    assert fake.requests[1].query == {"known_at": "313"}
    as_json = json.loads(run(*POST, *PRICE, "--json").stdout)
    assert [price["status"] for price in as_json["prices"]] == ["held", "counts", "held"]


def test_post_is_done_whatever_comes_of_the_look(fake: FakeGradewright, run: Run) -> None:
    """Where the posting cannot be read again it is stored all the same, and what is not known is said."""
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    fake.problem("GET", "/v1/postings/p-1", "internal-error")
    fake.answer("GET", "/v1/prices", samples.price_list())
    result = run(*POST, *PRICE)
    assert result.exit_code == 0
    assert "Stored as p-1" in result.stdout
    assert "whether any price of it waits could not be asked" in words(result.stdout)
    assert json.loads(run(*POST, *PRICE, "--json").stdout) == samples.posting()


def test_held_table(fake: FakeGradewright, run: Run) -> None:
    """Each price that waits with what others are paid, in its own unit and under each other, by posting; what
    the score is and what lets a price go is told below.
    """
    disputed = {"because": "disputed", "median": None, "spread": None, "score": None, "yards": 0}
    says = "Members dispute it who weigh more than those behind it."
    prices = [
        samples.held_price(from_weight="100 lb"),
        samples.held_price(line=12, price="3.35", held={**disputed, "says": says}),
    ]
    second = samples.posting(id="p-2", yard="tern-row", author="teal", prices=[samples.held_price()])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(samples.posting(prices=prices), second))
    result = run("held", "--region", "XO-KEL")
    assert [line.rstrip() for line in result.stdout.splitlines()[:9]] == [
        "XO-KEL: 3 prices wait that this key may see",
        "",
        "p-1  low-quay, 2026-05-03, sign, by wren          Price  Others are paid   Score",
        "  1  copper-no2, from 100 lb                33.0 USD/lb      3.30 USD/lb  200.50",
        "     far off what others of 3 yards say, who are 0.10 USD/lb apart",
        " 12  copper-no2                             3.35 USD/lb                -       -",
        "     Members dispute it who weigh more than those behind it.",
        "",
        "p-2  tern-row, 2026-05-03, sign, by teal          Price  Others are paid   Score",
    ]
    score = "Score: how far off a price is, counted in how far off the others commonly are"
    assert score in words(result.stdout)
    assert "gradewright-client confirm POSTING --line N" in words(result.stdout)
    assert fake.requests[0].query == {"region": "XO-KEL"}


@pytest.mark.parametrize(
    ("because", "told"), [("far-off", "far off what"), ("outlier", "an outlier among what")]
)
def test_why_it_waits_is_told_in_words(fake: FakeGradewright, run: Run, because: str, told: str) -> None:
    """Neither kind of a price that is off is told by its code."""
    held = {**samples.held_price()["held"], "because": because}
    posting = samples.posting(prices=[samples.held_price(held=held)])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(posting))
    shown = words(run("held", "--region", "XO-KEL").stdout)
    assert f"{told} others of 3 yards say, who are 0.10 USD/lb apart" in shown


@pytest.mark.parametrize(
    ("per", "others", "apart"),
    [
        ("kg", "7.2753 USD/kg", "0.2205 USD/kg"),
        ("short ton", "6600.0003 USD/short ton", "199.9998 USD/short ton"),
        ("stone", "7.2753 USD/kg", "0.2205 USD/kg"),  # a unit that is newer than the client
    ],
)
def test_held_names_the_unit_of_every_figure(
    fake: FakeGradewright, run: Run, per: str, others: str, apart: str
) -> None:
    """What others are paid is told per unit of the price that waits; else per kilogram, and said to be."""
    posting = samples.posting(prices=[samples.held_price(per=per)])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(posting))
    shown = words(run("held", "--region", "XO-KEL").stdout)
    assert f"33.0 USD/{per} {others} 200.50" in shown
    assert f"who are {apart} apart" in shown


def test_a_score_is_only_spoken_of_where_there_is_one(fake: FakeGradewright, run: Run) -> None:
    """Where others speak of few yards, the nearest of them is told, and nothing of a score."""
    few = {**samples.held_price()["held"], "score": None, "spread": None, "yards": 2}
    posting = samples.posting(prices=[samples.held_price(held=few)])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(posting))
    shown = run("held", "--region", "XO-KEL").stdout
    assert "far off what others of 2 yards say: the nearest of them" in words(shown)
    assert "Score:" not in shown


def test_of_a_price_that_was_sent_again_the_newest_waits(fake: FakeGradewright, run: Run) -> None:
    """The same member's newer price of that yard, grade and lot stands in the place of those before it: only
    it is listed, and how many there were before is said. Another lot, yard or member is another price."""
    other_lot = samples.held_price(line=2, from_weight="100 lb")
    newest = samples.posting(id="p-3", revision=315, prices=[samples.held_price(price="34.0"), other_lot])
    late = samples.posting(id="p-2", revision=314, observed_on="2026-05-02", prices=[samples.held_price()])
    first = samples.posting(prices=[samples.held_price()])
    other = samples.posting(id="p-0", author="teal", prices=[samples.held_price()])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(newest, late, first, other))
    shown = run("held", "--region", "XO-KEL").stdout
    assert shown.startswith("XO-KEL: 3 prices wait that this key may see")
    assert "p-2" not in shown
    assert "p-1" not in shown
    assert "p-0" in shown
    says = "2 older prices wait behind newer ones of the same member for the same, not listed"
    assert says in words(shown)


def test_what_waits_on_another_day(fake: FakeGradewright, run: Run) -> None:
    """The day is asked for, as known when it is said, and is told with the place."""
    fake.answer("GET", "/v1/held-prices", samples.held_prices())
    shown = run("held", "--region", "XO-KEL", "--on", "2026-05-03", "--known-at", "313").stdout
    assert fake.requests[0].query == {"region": "XO-KEL", "on": "2026-05-03", "known_at": "313"}
    assert shown.startswith("XO-KEL on 2026-05-03: 1 price waits that this key may see")


def test_held_in_json_and_none(fake: FakeGradewright, run: Run) -> None:
    """--json prints the service's own answer; where none waits that is said."""
    fake.answer("GET", "/v1/held-prices", samples.held_prices())
    assert json.loads(run("held", "--region", "XO-KEL", "--json").stdout) == samples.held_prices()
    fake.answer("GET", "/v1/held-prices", {"postings": []})
    assert "No price in XO-KEL waits that this key may see." in run("held", "--region", "XO-KEL").stdout


def test_held_of_a_region_that_is_not_there(fake: FakeGradewright, run: Run) -> None:
    """An unknown region is told at --region, with the one that may have been meant."""
    errors = [{"detail": "There is no region 'XO-KEP'.", "parameter": "region", "suggestions": []}]
    fake.problem("GET", "/v1/held-prices", "unknown-region", errors=errors)
    fake.answer("GET", "/v1/regions", {"regions": [samples.region()]})
    result = run("held", "--region", "XO-KEP")
    assert "--region: There is no region 'XO-KEP'. Did you mean XO-KEL?" in words(result.stderr)
    fake.problem("GET", "/v1/held-prices", "unauthorized")
    assert "Set GRADEWRIGHT_KEY to a key of yours" in words(run("held", "--region", "XO-KEL").stderr)
