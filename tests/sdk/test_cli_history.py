"""gradewright-client history: the table, and the files that it writes."""

from __future__ import annotations

import os
import stat
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.cli._show import sparkline
from gradewright_sdk.testing import FakeGradewright, samples

CSV = b"region,yard,grade,on\r\nXO-KEL,,copper-no2,2026-05-04\r\n"
SVG = '<?xml version="1.0" encoding="utf-8"?>\n<svg><title>Copper \u2212 low</title></svg>\n'.encode()
SERIES = "/v1/prices/XO-KEL/copper-no2/series"
COMMAND = ["history", "copper-no2", "--region", "XO-KEL"]


def words(text: str) -> str:
    return " ".join(text.split())


def lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.splitlines()]


def test_history(fake: FakeGradewright, run: Run) -> None:
    """The history shows a bar for each day and a table; a day without a price is a gap, not a zero."""
    gap = {"on": "2026-05-04", "low": None, "likely": None, "high": None, "yards": 0, "newest": None}
    fake.answer("GET", "/v1/prices/*", samples.series([*samples.series()["points"], gap]))
    options = ["--from", "2026-04-20", "--to", "2026-05-04", "--step", "week", "--known-at", "312"]
    result = run("history", "copper-no2", "--region", "XO-KEL", *options)
    assert "▁█   likely, 3.10 to 3.30" in result.stdout
    assert "2026-04-20 3.00 3.10 3.20 3 2026-04-18" in words(result.stdout)
    assert "2026-05-04 - - - 0 -" in words(result.stdout)
    assert fake.requests[-1].path == "/v1/prices/XO-KEL/copper-no2/series"
    assert fake.requests[-1].query == {
        "from": "2026-04-20",
        "to": "2026-05-04",
        "step": "week",
        "known_at": "312",
    }


def test_history_of_nothing(fake: FakeGradewright, run: Run) -> None:
    """A history without any price says so."""
    fake.answer("GET", "/v1/prices/*", samples.series([]))
    assert "No price was known" in run("history", "copper-no2", "--region", "XO-KEL").stdout


def points(*likely: str | None) -> list[dict[str, Any]]:
    """A point a day from 2026-05-01 on."""
    days = (f"2026-05-{n:02}" for n in range(1, 32))
    return [
        {"on": day, "low": one, "likely": one, "high": one, "yards": 3 if one else 0, "newest": one and day}
        for day, one in zip(days, likely, strict=False)
    ]


@pytest.mark.parametrize(
    ("empty", "says"),
    [
        (2, "Prices exist from 2026-05-03; the 2 earlier days asked about have none."),
        (1, "Prices exist from 2026-05-02; the day asked about before it has none."),
        (0, None),
    ],
)
def test_history_begins_with_prices(fake: FakeGradewright, run: Run, empty: int, says: str | None) -> None:
    """Days before the first price have neither a row nor a bar; one line says from when prices exist."""
    fake.answer("GET", "/v1/prices/*", samples.series(points(*[None] * empty, "3.1", "3.2")))
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL").stdout)
    assert shown[1] == "▁█  likely, 3.10 to 3.20"
    assert [line for line in shown if "Prices exist" in line] == ([says] if says else [])
    days = [line[:10] for line in shown if line.startswith("2026")]
    assert days == [f"2026-05-{empty + 1:02}", f"2026-05-{empty + 2:02}"]


def test_gaps_in_a_history(fake: FakeGradewright, run: Run) -> None:
    """Days in a row without a price share one row that says from when to when; their bars stay blank."""
    series = samples.series(points("3.1", None, None, None, "3.25", None, "3.1625"))
    fake.answer("GET", "/v1/prices/*", series)
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL").stdout)
    assert shown[1].startswith("▁   █ ▄  likely")
    assert shown[2:-1] == [
        "Day                          Low  Likely    High  Yards  Newest",
        "2026-05-01                3.10    3.10    3.10        3  2026-05-01",
        "2026-05-02 to 2026-05-04  -       -       -           0  -",
        "2026-05-05                3.25    3.25    3.25        3  2026-05-05",
        "2026-05-06                -       -       -           0  -",
        "2026-05-07                3.1625  3.1625  3.1625      3  2026-05-07",
    ]  # fmt: skip


def test_bars_that_do_not_fit(fake: FakeGradewright, run: Run) -> None:
    """Of a long history the last bars are shown, between the prices that those have."""
    series = samples.series(points("9", *["1", "2"] * 15))
    fake.answer("GET", "/v1/prices/*", series)
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL", columns=50).stdout)
    assert shown[1] == "▁█" * 10 + "  likely, 1.00 to 2.00"


def test_history_without_any_price(fake: FakeGradewright, run: Run) -> None:
    """A history of days that all have no price says so, without a table."""
    fake.answer("GET", "/v1/prices/*", samples.series(points(None, None)))
    shown = run("history", "copper-no2", "--region", "XO-KEL").stdout
    assert "No price was known on any of these days." in shown
    assert "Likely" not in shown


def test_history_at_a_yard(fake: FakeGradewright, run: Run) -> None:
    """At a yard the number of its prices stands behind each point; the lot and both rulebooks are told."""
    two = [
        samples.point("2026-03-31", rulebook="2018.1", entries=12, thin=True),
        samples.point("2026-04-30", rulebook="2026.1", entries=7, thin=True),
    ]
    series = samples.series(two, yard="low-quay", weight="150 lb")
    fake.answer("GET", "/v1/yards/low-quay/prices/*/series", series)
    shown = lines(run("history", "No. 2", "--yard", "low-quay", "--weight", "150 lb").stdout)
    assert shown == [
        "copper-no2 at low-quay, USD per lb, for 150 lb",
        "\u2581\u2581  likely, 3.30 to 3.30",
        "Day          Low  Likely  High  Prices  Newest",
        "2026-03-31  3.20  3.30    3.40      12  2026-04-18",
        "2026-04-30  3.20  3.30    3.40       7  2026-04-18",
        "Known at ledger revision 312, by rulebooks 2018.1 to 2026.1.",
    ]
    assert (fake.requests[0].path, fake.requests[0].query) == (
        "/v1/yards/low-quay/prices/No. 2/series", {"weight": "150 lb"},
    )  # fmt: skip


def test_few_yards_are_said_to_be_few(fake: FakeGradewright, run: Run) -> None:
    """A region's price that rests on too few yards says so, and the numbers stay under each other."""
    two = [samples.point("2026-04-20", yards=2, thin=True), samples.point("2026-04-27", yards=11)]
    fake.answer("GET", SERIES, samples.series(two))
    shown = lines(run(*COMMAND).stdout)
    assert shown[2:5] == [
        "Day          Low  Likely  High  Yards       Newest",
        "2026-04-20  3.20  3.30    3.40      2 only  2026-04-18",
        "2026-04-27  3.20  3.30    3.40     11       2026-04-18",
    ]


@pytest.mark.parametrize(
    ("columns", "head", "left_out"),
    [
        (62, "Day Low Likely High Yards Newest", None),
        (50, "Day Low Likely High Yards", "Newest"),
        (40, "Day Low Likely High", "Yards and Newest"),
    ],
)
def test_a_narrow_terminal(
    fake: FakeGradewright, run: Run, columns: int, head: str, left_out: str | None
) -> None:
    """Where the table is too wide its last columns are left out, which is said; no figure is cut short."""
    low = {"low": "-0.3237", "likely": "-0.3221", "high": "-0.3192", "yards": 2, "thin": True}
    days = points(None, None, None)[1:]
    fake.answer("GET", SERIES, samples.series([samples.point("2026-04-20", **low), *days]))
    shown = lines(run(*COMMAND, columns=columns).stdout)
    assert shown[2].split() == head.split()
    assert shown[3].split()[:4] == ["2026-04-20", "-0.3237", "-0.3221", "-0.3192"]
    assert "2026-05-03" in "".join(shown)
    assert "\u2026" not in "".join(shown)
    told = f"Without {left_out}, for which a wider terminal is needed."
    assert (told in words(" ".join(shown))) is (left_out is not None)


FILES = [
    pytest.param(["--output", "{}/price.csv"], "csv", CSV, id="csv by its name"),
    pytest.param(["--output", "{}/price.SVG"], "svg", SVG, id="svg by its name"),
    pytest.param(["--output", "{}/price.txt", "--format", "csv"], "csv", CSV, id="csv as said"),
    pytest.param(["-o", "{}/price.csv", "--format", "svg"], "svg", SVG, id="svg, whatever its name"),
]


@pytest.mark.parametrize(("options", "form", "content"), FILES)
def test_a_file_is_what_the_service_sent(
    fake: FakeGradewright, run: Run, tmp_path: Path, options: list[str], form: str, content: bytes
) -> None:
    """The file has the service's bytes; which form it is says --format, or else its name."""
    fake.answer("GET", SERIES, content, headers={"Known-At": "312"})
    options = [option.format(tmp_path) for option in options]
    told = run(*COMMAND, "--from", "2026-05-01", "--step", "day", *options).stdout
    (file,) = tmp_path.iterdir()
    assert file.read_bytes() == content
    assert words(told) == f"Wrote {file}: copper-no2 in XO-KEL as known at ledger revision 312."
    assert fake.requests[-1].query == {"from": "2026-05-01", "step": "day", "format": form}


@pytest.mark.parametrize("output", [[], ["--output", "-"]])
@pytest.mark.parametrize(("form", "content"), [("csv", CSV), ("svg", SVG)])
def test_a_file_to_standard_output(
    fake: FakeGradewright, run: Run, form: str, content: bytes, output: list[str]
) -> None:
    """With --format alone, or "-" for the file, it goes to standard output, byte for byte."""
    fake.answer("GET", SERIES, content, headers={"Known-At": "312"})
    assert run(*COMMAND, "--format", form, *output).stdout_bytes == content


def test_a_file_is_written_whole_or_not_at_all(
    fake: FakeGradewright, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the disk is full half-way the file of before stays as it was, and nothing lies beside it."""
    file = tmp_path / "price.csv"
    file.write_bytes(b"of before")
    fake.answer("GET", SERIES, CSV, headers={"Known-At": "312"})
    really = Path.write_bytes

    def full(self: Path, content: Any) -> int:
        really(self, content[: len(content) // 2])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    result = run(*COMMAND, "--output", str(file))
    assert (result.exit_code, result.stdout) == (2, "")
    assert words(result.stderr) == f"Cannot write {file}: No space left on device."
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("price.csv", b"of before")]


def test_a_file_keeps_its_place(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """A file that is written again keeps who may read it; a link to it stays a link; a folder is refused."""
    fake.answer("GET", SERIES, CSV, headers={"Known-At": "312"})
    file, link = tmp_path / "price.csv", tmp_path / "link.csv"
    file.write_bytes(b"of before")
    file.chmod(0o640)
    link.symlink_to(file)
    assert run(*COMMAND, "--output", str(link)).exit_code == 0
    assert (link.is_symlink(), file.read_bytes(), stat.S_IMODE(file.stat().st_mode)) == (True, CSV, 0o640)
    (tmp_path / "folder.csv").mkdir()
    refused = run(*COMMAND, "--output", str(tmp_path / "folder.csv"))
    assert (refused.exit_code, "Is a directory" in refused.stderr) == (2, True)


def test_a_file_into_a_pipe(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What is no file, such as a pipe that another program reads, is written to and stays what it is."""
    fake.answer("GET", SERIES, SVG, headers={"Known-At": "312"})
    pipe = tmp_path / "pipe.svg"
    os.mkfifo(pipe)
    reading = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    assert run(*COMMAND, "--output", str(pipe)).exit_code == 0
    assert os.read(reading, 1000) == SVG
    os.close(reading)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--format", "png"], "write --format csv or --format svg"),
        (["--output", "price.xlsx"], "or a file that is named so"),
        (["--output", "price"], "write --format csv"),
        (["--format", "csv", "--json"], "give --json, or --format and --output"),
        (["--output", "price.csv", "--json"], "not both"),
        (["--step", "year"], "--step is day, week or month"),
        (["--yard", "low-quay"], "give --region or --yard, not both"),
    ],
)
def test_wrong_usage(fake: FakeGradewright, run: Run, options: list[str], says: str) -> None:
    """What cannot be meant is told before anything is asked or written."""
    result = run(*COMMAND, *options, columns=200)
    assert result.exit_code == 2
    assert says in words(result.stderr)
    assert not fake.requests
    assert not Path("price.csv").exists()


def test_a_place_is_needed(run: Run) -> None:
    """Without region and yard it says to give one."""
    result = run("history", "copper-no2", columns=200)
    assert (result.exit_code, "give --region or --yard" in words(result.stderr)) == (2, True)


def test_a_refusal_writes_nothing(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """A service that says no ends with 1 at the option that it is about; no file is made."""
    errors = [{"detail": "write a weight with its unit", "parameter": "weight"}]
    fake.problem("GET", SERIES, "invalid-request", errors=errors)
    result = run(*COMMAND, "--weight", "150", "--output", str(tmp_path / "price.csv"))
    assert (result.exit_code, result.stdout) == (1, "")
    assert "--weight: write a weight with its unit" in words(result.stderr)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("values", "bars"),
    [
        (["1", "2"], "▁█"),
        (["1", None, "8", "4"], "▁ █▄"),
        (["3", "3", "3"], "▁▁▁"),
        ([None, None], ""),
        ([], ""),
        (["-1", "0", "1"], "▁▅█"),
    ],
)
def test_sparkline(values: list[str | None], bars: str) -> None:
    """Bars go from the lowest to the highest value; what is missing is a blank; equal values are level."""
    found = [None if value is None else Decimal(value) for value in values]
    assert sparkline(found) == bars
    assert sparkline(found, plain=True).isascii()
