"""gradewright-client prices, history, post and the lists, and how every command fails."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import httpx
import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import PriceSeen
from gradewright_sdk.cli._seen import seen
from gradewright_sdk.cli._values import BadValue
from gradewright_sdk.testing import FakeGradewright, samples

POST = ["post", "--yard", "low-quay", "--observed-on", "2026-05-03", "--evidence", "sign"]


def words(text: str) -> str:
    return " ".join(text.split())


def test_prices(fake: FakeGradewright, run: Run) -> None:
    """The price list shows low, likely, high, tiers, how sure, what has no price, and the pins."""
    tier = {"from_weight": "100 lb", **samples.spread("3.30", "3.45", "3.60")}
    unpriced = [
        {"grade": "boards-high", "because": "nobody posted it"},
        {"grade": "chips", "because": "nobody posted it"},
    ]
    fake.answer("GET", "/v1/prices", samples.price_list(samples.price(tiers=[tier]), unpriced=unpriced))
    options = ["--on", "2026-05-04", "--known-at", "312", "--grade", "copper-no2", "--weight", "150 lb"]
    result = run("prices", "--region", "XO-KEL", *options)
    shown = words(result.stdout)
    assert "XO-KEL, 2026-05-04, in USD per lb Copper Low Likely High" in shown
    assert "Copper No. 2 3.20 3.35 3.50 copper-no2 · 3 yards, 2 days ago" in shown
    assert "· from 100 lb 3.30 – 3.45 – 3.60" in shown
    assert "Without a price: 2 boards-high: nobody posted it chips: nobody posted it" in shown
    assert "ledger revision 312, by rulebook 2018.1" in shown
    assert fake.requests[0].query == {
        "region": "XO-KEL",
        "on": "2026-05-04",
        "known_at": "312",
        "weight": "150 lb",
        "grade": "copper-no2",
    }
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_many_grades_without_a_price(fake: FakeGradewright, run: Run) -> None:
    """Where many grades have no price they are named in a row, without a reason each."""
    unpriced = [{"grade": f"grade-{n}", "because": f"nobody posted {n}"} for n in range(30)]
    fake.answer("GET", "/v1/prices", samples.price_list(unpriced=unpriced))
    shown = words(run("prices", "--region", "XO-KEL").stdout)
    assert "Without a price: 30 grade-0, grade-1," in shown
    assert "grade-29. With --grade it says why." in shown
    assert "nobody posted" not in shown


@pytest.mark.parametrize(
    "command", [["prices", "--region", "XO-KEL"], ["history", "copper-no2", "--region", "XO-KEL"]]
)
def test_json_is_what_the_service_sent(fake: FakeGradewright, run: Run, command: list[str]) -> None:
    """--json prints the answer's own bytes."""
    body = samples.price_list() if command[0] == "prices" else samples.series()
    sent = json.dumps(body, indent=2).encode()
    fake.answer("GET", "/v1/prices*", sent)
    assert run(*command, "--json").stdout_bytes == sent + b"\n"


def test_regions_and_yards(fake: FakeGradewright, run: Run) -> None:
    """Regions and yards are listed, and said to be none where there are none."""
    fake.answer("GET", "/v1/regions", {"regions": [samples.region()]})
    fake.answer("GET", "/v1/yards", {"yards": [samples.yard(refuses=["boards-low"])]})
    assert "XO-KEL Kelder Bay XO USD lb" in words(run("regions").stdout)
    assert "low-quay Low Quay XO-KEL USD lb boards-low" in words(run("yards", "--region", "XO-KEL").stdout)
    assert fake.requests[-1].query == {"region": "XO-KEL"}
    assert json.loads(run("regions", "--json").stdout) == {"regions": [samples.region()]}
    assert json.loads(run("yards", "--json").stdout)["yards"][0]["labels"] == samples.yard()["labels"]
    fake.answer("GET", "/v1/regions", {"regions": []})
    assert "no regions yet" in run("regions").stdout


def test_attributes(run: Run) -> None:
    """The attributes are listed with what they take: the columns of a file."""
    shown = words(run("attributes", columns=120).stdout)
    assert "metal What metal is it? copper, steel" in shown
    assert "sticks_to_magnet Does a magnet stick? yes or no" in shown
    assert "thickness How thick is it? 6.35 mm, 1/4 in" in shown
    assert "made_year When was it made? a year" in shown
    found = json.loads(run("attributes", "--json").stdout)["attributes"]
    assert found["thickness"]["kind"] == "length"


def test_grades(run: Run) -> None:
    """The grades are listed with name, family and aliases: what a file may have in its grade column."""
    shown = words(run("grades").stdout)
    assert "Grade Name Family Aliases copper-no1 Copper No. 1 Copper No. 1" in shown
    assert "light-iron Light iron Ferrous shred" in shown
    found = json.loads(run("grades", "--json").stdout)["grades"]
    assert found["copper-no2"]["aliases"] == ["No. 2"]
    assert list(found) == ["copper-no1", "copper-no2", "light-iron"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (["COPPER"], ["copper-no1", "copper-no2"]),
        (["copper", "no. 2"], ["copper-no2"]),
        (["shred"], ["light-iron"]),
        (["ferrous"], ["light-iron"]),
        (["copper", "iron"], []),
    ],
)
def test_grades_with_words(run: Run, asked: list[str], found: list[str]) -> None:
    """Words leave the grades that have all of them, in slug, name, family or alias; if none has, it says
    so.
    """
    assert list(json.loads(run("grades", *asked, "--json").stdout)["grades"]) == found
    shown = run("grades", *asked).stdout
    assert all(slug in shown for slug in found)
    assert ("No grade" in shown) is (not found)


def test_grades_of_a_day(fake: FakeGradewright, run: Run) -> None:
    """With --on the grades are those of the rulebook of that day."""
    run("grades", "--on", "2017-01-01")
    assert fake.requests[-1].query == {"on": "2017-01-01"}


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
        "copper no2 3.35 USD/lb",
        "copper-no2 ٣ USD/lb",
    ],
)
def test_price_that_is_none(text: str) -> None:
    """What is no price says how to write one."""
    with pytest.raises(BadValue, match=r"write copper-no2 3\.35 USD/lb"):
        seen(text)


def test_post_prices(fake: FakeGradewright, run: Run) -> None:
    """Prices of the options are posted in one posting, and what was stored is shown."""
    fake.answer("POST", "/v1/postings", samples.posting(note="by the gate"), status=201)
    fake.answer("GET", "/v1/postings/p-1", samples.posting(note="by the gate"))
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


COMMANDS = [
    ["value", "-", "--region", "XO-KEL"],
    ["grade", "metal=copper"],
    ["prices", "--region", "XO-KEL"],
    ["history", "copper-no2", "--region", "XO-KEL"],
    [*POST, "--price", "a 1 USD/lb"],
    ["regions"],
    ["yards"],
    ["grades"],
    ["attributes"],
]


@pytest.mark.parametrize("command", COMMANDS, ids=[command[0] for command in COMMANDS])
def test_stopped_service(fake: FakeGradewright, run: Run, command: list[str]) -> None:
    """With the service stopped every command ends with 4 and says where it looked and how to start one."""
    fake.lose("GET", "*")
    fake.lose("POST", "*")
    result = run(*command, input="name,weight,grade\na,1 kg,x\n")
    assert result.exit_code == 4
    assert "http://gradewright.test" in result.stderr
    assert "gradewright serve" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    "make",
    [
        lambda request: b"<html>Welcome</html>",
        lambda request: {"regions": [{}]},
    ],
)
def test_something_else_at_the_address(fake: FakeGradewright, run: Run, make: Any) -> None:
    """If something else answers at the address the command says so and ends with 4."""
    fake.answer("GET", "/v1/regions", make)
    result = run("regions")
    assert result.exit_code == 4
    assert "Unexpected answer" in result.stderr


def test_too_slow(fake: FakeGradewright, run: Run) -> None:
    """A service that is too slow is told with the deadline, and ends with 4."""

    def never(request: object) -> object:
        raise httpx.ReadTimeout("slow")

    fake.answer("GET", "/v1/regions", never)
    result = run("regions", "--timeout", "2")
    assert result.exit_code == 4
    assert "within 2 s" in result.stderr


def program(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command line as a program of its own, asking a real address."""
    return subprocess.run(
        [sys.executable, "-m", "gradewright_sdk.cli", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={**os.environ, **environment},
        stdin=subprocess.DEVNULL,
    )


def test_nobody_listens() -> None:
    """Against a port where nobody listens the program ends with 4 and one message, soon."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{free.getsockname()[1]}"
        done = program("regions", GRADEWRIGHT_URL=url)
    assert done.returncode == 4
    assert url in done.stderr
    assert "Traceback" not in done.stderr


def test_address_that_is_none() -> None:
    """An address that cannot be one is wrong usage."""
    done = program("regions", "--url", "gradewright")
    assert done.returncode == 2
    assert "is not the address of a service" in done.stderr


def test_terminal_without_unicode() -> None:
    """Where output cannot be UTF-8, nothing fails."""
    done = program("value", "--help", PYTHONIOENCODING="ascii", COLUMNS="80")
    assert done.returncode == 0
    assert "weight_each" in done.stdout


@pytest.mark.parametrize(
    "words", [["value", "--help"], ["regions"], ["regions", "--json"], ["yards"], ["attributes", "--json"]]
)
def test_output_that_nobody_reads(words: list[str], listening: str) -> None:
    """Output that is cut, as `| head` does, ends the program without a word and never with a code of its
    own.
    """
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "gradewright_sdk.cli", *words],
        stdout=write,
        stderr=subprocess.PIPE,
        check=False,
        timeout=60,
        env={**os.environ, "GRADEWRIGHT_URL": listening},
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (141, b"")


@pytest.fixture(scope="module")
def listening() -> Iterator[str]:
    """The address of a stand-in on a real socket."""
    fake = FakeGradewright()
    fake.answer("GET", "/v1/regions", {"regions": [samples.region(code=f"XO-{n}") for n in range(5000)]})
    fake.answer("GET", "/v1/yards", {"yards": []})
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook())

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            answer = fake.handle(httpx.Request("GET", f"http://a.test{self.path}"))
            self.send_response(answer.status_code)
            self.send_header("Content-Type", "application/json")
            self.end_headers()
            self.wfile.write(answer.content)

        def log_message(self, format: str, *args: object) -> None:
            """Says nothing: what the tests print is read by people."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


@pytest.mark.parametrize(
    "command",
    [
        *["value", "grade", "prices", "history", "post", "regions", "yards", "grades", "attributes"],
        *["withdraw", "confirm", "dispute", "decide", "correct", "held"],
    ],
)
def test_help(run: Run, command: str) -> None:
    """Every command says in its help what it does; those that can fail say how they end."""
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"gradewright-client {command}" in result.stdout.replace("root ", "gradewright-client ")
    if command not in {"regions", "yards", "grades", "attributes"}:
        assert "3 when incomplete under --strict" in words(result.stdout)


def test_no_command_shows_the_help(run: Run) -> None:
    """Without a command the help is shown; --version says the version."""
    assert "value" in run().stdout + run().stderr
    assert run("--version").stdout.startswith("gradewright-client 0.")
