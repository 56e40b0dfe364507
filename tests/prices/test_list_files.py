"""Lists as files: what is read of them, line by line, and what keeps a file from being read."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.errors import GradewrightError, Refused
from gradewright.prices.list_files import LISTS
from gradewright.prices.list_schemas import line_of
from gradewright.web.tables import MOST_LINES, UnreadableFile

HEAD = "label,price\n"


def cells(data: str | bytes) -> list[tuple[int, dict[str, str]]]:
    content = data if isinstance(data, bytes) else data.encode()
    return [(row.line, dict(row.cells)) for row in LISTS.read_csv(content)]


@pytest.mark.parametrize(
    ("cell", "says", "suggestion"),
    [
        ("3,99", "has a comma", "3.99"),
        ("9,500.00", "has a comma", "9500.00"),
        ("abc", "is not a number", None),
    ],
)
def test_a_price_that_is_no_number_is_told_so(cell: str, says: str, suggestion: str | None) -> None:
    """In the words of whoever reads numbers, with what may have been meant."""
    [row] = LISTS.read_csv(f'label,price\n#2 Cu,"{cell}"\n'.encode())
    [fault] = line_of(row).faults
    assert fault.at == ("price",)
    assert says in fault.detail
    assert suggestion is None or suggestion in fault.suggestions


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (["3,96"], ["3.96"]),
        (["-0,10", "+12,5", "1234,567"], ["-0.10", "+12.5", "1234.567"]),
        (["0,125"], ["0.125"]),
        (["1,250"], ["1,250"]),  # or twelve hundred and fifty: nothing here tells
        (["1,250", "3,96"], ["1.250", "3.96"]),
        (["1,250", "3.96"], ["1,250", "3.96"]),
        (["1,250", "3,96", "4.10"], ["1,250", "3.96", "4.10"]),
        (["1,250.00", "1,250,000", "3,96"], ["1,250.00", "1,250,000", "3.96"]),
        (["0.125", "3,96"], ["0.125", "3.96"]),
        (["1.250", "3.96"], ["1.250", "3.96"]),
        (["abc 3,96", ",5", "3,", "3.96"], ["abc 3,96", ",5", "3,", "3.96"]),
    ],
)
@pytest.mark.parametrize("between", [";", "\t"])
def test_decimal_commas_where_cells_are_not_parted_by_them(
    written: list[str], read: list[str], between: str
) -> None:
    """What cannot be thousands is read, and what could be where the file shows that it is not. A label is as
    it is written."""
    lines = [f"1,5 mm wire{between}{cell}{between}100,5 kg" for cell in written]
    found = LISTS.read_csv("\n".join([f"label{between}price{between}from_weight", *lines]).encode())
    assert [row.cells["from_weight"] for row in found] == ["100.5 kg"] * len(written)
    alone = "\n".join(line.rpartition(between)[0] for line in [f"label{between}price{between}", *lines])
    known = LISTS.read_csv(alone.encode())
    assert [row.cells["price"] for row in known] == read
    assert {row.cells["label"] for row in [*found, *known]} == {"1,5 mm wire"}


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("1.250", "write 1250, or 1,250"),
        ("-1.250", "write 1250, or 1,250"),
        ("1.234,50", "write 1234.50"),
        ("1.250.000", "write 1250000"),
    ],
)
def test_a_point_beside_decimal_commas_is_not_guessed(cell: str, says: str) -> None:
    """It may part thousands: told at its place, and the line has no such amount."""
    sure, row = LISTS.read_csv(f"label;price;from_weight\na;7,60;\nb;{cell};{cell} kg\n".encode())
    assert sure.cells["price"] == "7.60"
    assert row.cells == {"label": "b"}
    assert sorted(fault.at for fault in row.faults) == [("from_weight",), ("price",)]
    assert all(fault.line == 3 and says in fault.detail for fault in row.faults)


@pytest.mark.parametrize(
    "data",
    [
        "label,price\n#2 Cu,3.35\n",
        "label;price\r\n#2 Cu;3.35\r\n",
        "\ufefflabel\tprice\r\n#2 Cu\t3.35",
        "Label , PRICE,,\n #2 Cu ,3.35,,\n,,,\n",
        '"label","price"\r"#2 Cu","3.35"\r',
        "price,label\n3.35\u00a0,#2 Cu\n",
    ],
)
def test_spreadsheets_write_csv_in_many_ways(data: str) -> None:
    """Byte order marks, delimiters, line ends, quotes, blanks and spare columns do not matter."""
    assert cells(data) == [(2, {"label": "#2 Cu", "price": "3.35"})]


def test_lines_are_counted_as_an_editor_counts_them() -> None:
    """Blank lines, a first line that names the separator and line breaks in quotes all count."""
    data = 'sep=;\n\nlabel;price;from_weight\n\n"a\nb";1;\nc;2;"100 lb"\n'
    assert cells(data) == [
        (5, {"label": "a\nb", "price": "1"}),
        (7, {"label": "c", "price": "2", "from_weight": "100 lb"}),
    ]


def test_names_of_columns_and_currencies_may_be_written_otherwise() -> None:
    """ "From weight" is from_weight, and usd is USD."""
    data = "Grade,Price,Currency,Per,From weight\ntin,3,usd,lb,1 lb\n"
    assert cells(data)[0][1] == {
        "grade": "tin",
        "price": "3",
        "currency": "USD",
        "per": "lb",
        "from_weight": "1 lb",
    }


def test_a_line_may_be_short_but_not_long() -> None:
    """Missing cells are blank; a cell beyond the columns is a fault of its line alone."""
    rows = LISTS.read_csv(b"label,price,per\n#2 Cu,3.35\n#1 Cu,4,10,lb\n")
    assert rows[0].cells == {"label": "#2 Cu", "price": "3.35"}
    assert not rows[0].faults
    (fault,) = rows[1].faults
    assert (fault.line, fault.at) == (3, ())
    assert "4 cells under 3 columns" in fault.detail


@pytest.mark.parametrize(
    ("data", "line", "says"),
    [
        (b"label,price\n#2 Cu,3.35\nKupfer \xe4,3\n", 3, "UTF-8"),
        ("label,price\n#2 Cu,3.35\n".encode("utf-16"), 1, "UTF-8"),
        ("label,price\n#2 Cu,3.35\n".encode("utf-16-le"), 1, "UTF-16"),
        (b"label,price\n#2 Cu,3.35\nx\x00,3\n", 3, "NUL"),
        (b'label,price\na,1\n"b,2\nc,3\n', 3, "a quote is not closed"),
        (b'label,price\n"a"b,1\n', 2, "cannot be read as CSV"),
        (b"label,price\n" + b"a" * 200_000 + b",1\n", 2, "field larger"),
        (b"label,price,label\na,1,b\n", 1, "label stands there twice"),
        (b"label,price,colour\na,1,b\n", 1, "'colour' is no column"),
        (b"label,,price\na,b,1\n", 1, "'' is no column"),
        (b"label,per\na,lb\n", 1, "no column price"),
        (b"price,per\n1,lb\n", 1, "no column label"),
        (b"#2 Cu,3.35\n#1 Cu,4.10\n", 1, "is the first line missing?"),
        (b"", 1, "no price in the file"),
        (b"\n\n , \n", 1, "no price in the file"),
        (b"label,price\n", 1, "no price in the file"),
        (HEAD.encode() + b"a,1\n" * (MOST_LINES + 1), MOST_LINES + 2, "at most 10000"),
    ],
)
def test_a_file_that_cannot_be_read(data: bytes, line: int, says: str) -> None:
    """What keeps the whole file from being read is told with its line."""
    with pytest.raises(GradewrightError) as caught:
        LISTS.read_csv(data)
    assert isinstance(caught.value, UnreadableFile if says == "UTF-8" else Refused)
    assert caught.value.faults[0].line == line
    assert says in caught.value.faults[0].detail
    assert f"line {line}: " in caught.value.detail


def test_every_fault_of_the_first_line_is_told() -> None:
    """Unknown columns, repeated ones and missing ones are told together."""
    with pytest.raises(Refused) as caught:
        LISTS.read_csv(b"colour,per,per,size\na,b,c,d\n")
    details = " ".join(fault.detail for fault in caught.value.faults)
    for word in ("'colour'", "'size'", "per stands there twice", "no column price", "no column label"):
        assert word in details


def test_ten_thousand_lines_are_a_list() -> None:
    """10,000 lines are read; blank ones do not count."""
    assert len(LISTS.read_csv(HEAD.encode() + b"a,1\n\n" * MOST_LINES)) == MOST_LINES
    assert len(LISTS.read_lines(b'{"label":"a"}\n\n' * MOST_LINES)) == MOST_LINES
    with pytest.raises(Refused, match="at most 10000"):
        LISTS.read_lines(b'{"label":"a"}\n' * (MOST_LINES + 1))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("not json", "not JSON"),
        ('{"label": "a"', "not JSON"),
        ("[1]", "not an object"),
        ('"label"', "not an object"),
        ('{"label": "a", "label": "b"}', "given twice"),
        ('{"label": "a", "colour": "b"}', "no 'colour'"),
        ('{"label": "a", "price": 3.35}', "as text"),
        ('{"label": ["a"]}', "as text"),
        ('{"label": true}', "as text"),
        ('{"\\ud800": "a"}', "A line has no"),
        ('{"price": ' + "9" * 5000 + "}", "no JSON that can be read"),
        ("[" * 100_000, "no JSON that can be read"),
    ],
)
def test_a_json_line_that_is_none(text: str, says: str) -> None:
    """What is wrong with one line of JSON stands in that line; the others are read."""
    before, row, after = LISTS.read_lines(f'{{"label":"x"}}\r\n{text}\n{{"label":"y","per":null}}'.encode())
    assert [before.cells, after.cells] == [{"label": "x"}, {"label": "y"}]
    (fault,) = row.faults
    assert (row.line, fault.line) == (2, 2)
    assert says in fault.detail
    json.dumps(fault.detail).encode()
    fault.detail.encode()


NAMES = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=100).filter(
    lambda text: text == text.strip(" ")
)
OTHERS = st.from_regex(r"[A-Za-z0-9.,;\"' -]{0,9}[A-Za-z0-9.,;\"'-]", fullmatch=True).map(str.strip)


@given(
    st.lists(
        st.fixed_dictionaries(
            {"label": NAMES, "price": OTHERS},
            optional={"grade": OTHERS, "per": OTHERS, "from_weight": OTHERS},
        ),
        min_size=1,
        max_size=20,
    )
)
def test_what_is_written_is_read_again(rows: list[dict[str, Any]]) -> None:
    """CSV and JSON Lines give every cell back to the letter, with its quotes, delimiters, strange blanks."""
    rows = [{name: row[name] for name in LISTS.columns if row.get(name)} for row in rows]
    read = LISTS.read_csv(LISTS.write_csv(rows))
    assert [row.cells for row in read] == rows
    assert [row.line for row in read] == list(range(2, len(rows) + 2))
    assert [row.cells for row in LISTS.read_lines(LISTS.write_lines(rows))] == rows
    assert not any(row.faults for row in read)
