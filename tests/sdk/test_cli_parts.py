"""Files of parts: what is read from them, and every fault with its line."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright_sdk import Fault, Part, Rulebook
from gradewright_sdk.cli._files import FileFaults
from gradewright_sdk.cli._parts import PartsFile, guess_kind, read_parts
from gradewright_sdk.testing import samples

BOOK = Rulebook.model_validate(samples.rulebook())


def read(text: str | bytes, kind: str = "csv") -> PartsFile:
    return read_parts(text if isinstance(text, bytes) else text.encode(), BOOK, kind=kind)


def faults(text: str | bytes, kind: str = "csv") -> list[str]:
    try:
        file = read(text, kind)
    except FileFaults as error:
        return [str(fault) for fault in error.faults]
    return [str(fault) for fault in file.faults]


def test_csv_is_typed_by_the_rulebook() -> None:
    """Cells become observations by their attribute's kind: yes/no, year, text; blank is not known."""
    text = """name,count,weight,metal,sticks_to_magnet,thickness,made_year,capacitor_date
motor,2,2 lb 3 oz,Copper,no,1/4 in,1998,1998-05-01
plate,,1.2 kg,steel,YES,,,
"""
    file = read(text)
    assert file.parts == (
        Part(
            "motor",
            2,
            "2 lb 3 oz",
            observed={
                "metal": "copper",
                "sticks_to_magnet": False,
                "thickness": "1/4 in",
                "made_year": 1998,
                "capacitor_date": "1998-05-01",
            },
        ),
        Part("plate", None, "1.2 kg", observed={"metal": "steel", "sticks_to_magnet": True}),
    )
    assert file.lines == (2, 3)


def test_named_grade_and_weight_each() -> None:
    """A part can be named by grade and weighed by the piece; without a name it is called by its line."""
    file = read("weight_each,grade\n1.35 kg,No. 2\n")
    assert file.parts == (Part("line 2", None, None, "1.35 kg", None, "No. 2"),)


@pytest.mark.parametrize(
    "text",
    [
        "name,weight,grade\na,1 kg,x\n",
        "\ufeffName,Weight,Grade\r\na,1 kg,x\r\n",
        "name;weight;grade\na;1 kg;x\n",
        "name\tweight\tgrade\na\t1 kg\tx",
        "\n\nname,weight,grade\n,,\na,1 kg,x,,\n\n",
        'name,weight,grade\n"a","1 kg", x \n',
        "name,weight,grade,,\na,1 kg,x,,\n",
        "sep=;\nname;weight;grade\na;1 kg;x\n",
        "\ufeffSEP=,\r\nname,weight,grade\r\na,1 kg,x\r\n",
        '"sep=\t"\nname\tweight\tgrade\t\na\t1 kg\tx\t\n',
        "sep=;;;\nname;weight;grade\na;1 kg;x\n",
    ],
)
def test_csv_as_programs_write_it(text: str) -> None:
    """Byte order marks, CRLF, semicolons, tabs, blank lines, quotes and spare commas make no difference."""
    assert read(text).parts == (Part("a", None, "1 kg", None, None, "x"),)


@pytest.mark.parametrize(
    ("weights", "read_as"),
    [
        (("2,5 kg", "0,125 kg"), ("2.5 kg", "0.125 kg")),
        (("2,5 kg", "1,250 kg"), ("2.5 kg", "1.250 kg")),  # the first shows what the second is
        (("2,5 kg", "1.5 kg"), ("2.5 kg", "1.5 kg")),
    ],
)
def test_decimal_commas_between_semicolons(weights: tuple[str, str], read_as: tuple[str, str]) -> None:
    """Weights and measures are read as such files write them; what a part is called is as it is written."""
    first, second = weights
    file = read(f"Name;Weight;metal;thickness\n1,5 mm wire;{first};steel;6,35 mm\nb;{second};steel;1,5 mm\n")
    assert [part.name for part in file.parts] == ["1,5 mm wire", "b"]
    assert tuple(part.weight for part in file.parts) == read_as
    assert [(part.observed or {})["thickness"] for part in file.parts] == ["6.35 mm", "1.5 mm"]


@pytest.mark.parametrize(
    ("text", "weight"),
    [("name;weight;grade\na;1,250 kg;x\n", "1,250 kg"), ('name,weight,grade\na,"2,5 kg",x\n', "2,5 kg")],
)
def test_a_comma_that_may_part_thousands_is_not_guessed(text: str, weight: str) -> None:
    """Where nothing in the file shows what it is, or cells are parted by commas, it is sent as it stands, for
    the service to refuse."""
    assert [part.weight for part in read(text).parts] == [weight]


def test_a_point_beside_decimal_commas_is_not_guessed() -> None:
    """It may part thousands of grams, or be somebody's decimal point."""
    assert faults("name;weight;grade\na;2,5 kg;x\nb;1.250 kg;x\n") == [
        "line 3, weight: '1.250' may be thousands, as other amounts in this file have decimal commas: write "
        "1250, or 1,250."
    ]


def test_lines_are_those_of_an_editor() -> None:
    """A part's line is the one it begins on, also after cells that go over several lines and blank lines."""
    file = read('name,weight,grade\n"two\nlines",1 kg,x\n\nnext,1 kg,x\n')
    assert file.lines == (2, 5)
    assert faults('name,weight,grade\n"two\nlines",1 kg,x\n\nnext,1,x\n') == [
        "line 5, weight: '1' has no unit; write 1 kg or 1 lb."
    ]


def test_every_fault_is_told_at_once() -> None:
    """All faults of all lines are told, each with its line and column."""
    text = """name,count,weight,weight_each,grade,metal,sticks_to_magnet,thickness,made_year,capacitor_date
a,0,1,,,coper,maybe,3,98,5/5/98
b,1.5,1 kg,2 kg,x,,,,,
c,,,,,,,,,
d,,1 kg,,x,copper,,,,
e,,heavy,,x,,,,,,,9
f,,heavy,,x,,,,,
g,,1 kg,,,,,,,2026-02-30
"""
    assert faults(text) == [
        "line 2, weight: '1' has no unit; write 1 kg or 1 lb.",
        "line 2, metal: 'coper' is none of copper, steel. Did you mean copper?",
        "line 2, sticks_to_magnet: 'maybe' is neither yes nor no; leave it blank if it is not known.",
        "line 2, thickness: '3' has no unit; write 3 mm or 3 in.",
        "line 2, made_year: '98' is not a year; write it in full, such as 1998.",
        "line 2, capacitor_date: '5/5/98' is not a day; write YYYY-MM-DD.",
        "line 2, count: '0' is not a number of pieces; write a whole number from 1 on.",
        "line 3, weight: give weight or weight_each, not both.",
        "line 3, count: '1.5' is not a number of pieces; write a whole number from 1 on.",
        "line 4, weight: there is no weight.",
        "line 4, grade: no grade, and nothing observed to tell it by.",
        "line 5, grade: a grade and observations (metal): leave one out, a grade is taken as named.",
        "line 6: 12 cells under 10 columns; a ',' inside a value needs quotes.",
        "line 7, weight: 'heavy' does not begin with a number; write 1.2 kg or 2 lb 3 oz.",
        "line 8, capacitor_date: '2026-02-30' is not a day; write YYYY-MM-DD.",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "name,wieght,grade\na,1 kg,x\n",
            [
                "line 1: 'wieght' is neither name, count, weight, weight_each, grade nor an attribute of the "
                "rulebook (`gradewright-client attributes` lists them). Did you mean weight?",
                "line 1: there is no column weight or weight_each; the first line names the columns.",
            ],
        ),
        (
            "name,weight,thick\na,1 kg,3 mm\n",
            [
                "line 1: 'thick' is neither name, count, weight, weight_each, grade nor an attribute of the "
                "rulebook (`gradewright-client attributes` lists them). Did you mean thickness?",
            ],
        ),
        (
            "drive motor,2 kg,light-iron\nframe,1 kg,light-iron\n",
            [
                "line 1: there is no column that is known: is the header missing? The first line names the "
                "columns, name, count, weight, weight_each, grade and attributes of the rulebook "
                "(`gradewright-client attributes` lists them).",
            ],
        ),
        (
            "name,weight,grade,,\na,1 kg,x,,\nb,1 kg,x,,old\nc,1 kg,x,,,,5\n",
            [
                "line 3: 'old' stands in column 5, which has no name in the first line.",
                "line 4: 7 cells under 3 columns; a ',' inside a value needs quotes.",
            ],
        ),
        ("sep=;\nname;weight;grade\na;1;x\n", ["line 3, weight: '1' has no unit; write 1 kg or 1 lb."]),
        ("name,weight,weight\na,1 kg,1 kg\n", ["line 1: column weight comes twice."]),
        ("name,,weight\na,,1 kg\n", ["line 1: column 2 has no name."]),
        ("", ["line 1: there is no part in the file."]),
        ("name,weight,grade\n", ["line 1: there is no part in the file."]),
        (
            b"name,weight,grade\na,1 kg,x\nb\xff,1 kg,x\n",
            ["line 3: this is not UTF-8; save the file as UTF-8 text."],
        ),
        (
            'name,weight,grade\na,1 kg,x\n"open,1 kg,x\n',
            ["line 3: this cannot be read as CSV (unexpected end of data)."],
        ),
    ],
)
def test_faulty_csv(text: str | bytes, says: list[str]) -> None:
    """A faulty first line, an empty file, another encoding and open quotes are told by line."""
    assert faults(text) == says


def test_json_lines() -> None:
    """A line of JSON is a part as the API takes it; null is not known; values may be text too."""
    text = "\n".join(
        [
            json.dumps(
                {"name": "a", "count": 2, "weight_each": "1 kg", "observed": {"sticks_to_magnet": True}}
            ),
            "",
            json.dumps({"weight": "1 kg", "grade": None, "observed": {"made_year": 1998, "metal": "STEEL"}}),
            json.dumps({"weight": "1 kg", "observed": {"made_year": "1998", "sticks_to_magnet": "no"}}),
        ]
    )
    file = read(text, "jsonl")
    assert file.parts == (
        Part("a", 2, None, "1 kg", {"sticks_to_magnet": True}),
        Part("line 3", None, "1 kg", observed={"made_year": 1998, "metal": "steel"}),
        Part("line 4", None, "1 kg", observed={"made_year": 1998, "sticks_to_magnet": False}),
    )
    assert file.lines == (1, 3, 4)


def test_faulty_json_lines() -> None:
    """Faults of JSON Lines are told all at once, by line, name and character."""
    text = """{"weight": 1.5, "grade": "x"}
{"weight": "1 kg", "grade": "x", "wieght": 1}
{"weight": "1 kg", "observed": {"metl": "steel"}}
{"weight": "1 kg" "grade": "x"}
{"weight": "1 kg", "weight": "2 kg", "grade": "x"}
["1 kg"]
{"weight": "1 kg", "observed": ["steel"]}
{"weight": "1 kg", "count": true, "observed": {"thickness": 6.35, "sticks_to_magnet": 1, "made_year": false}}
{"weight": "1 kg", "grade": "x", "count": NINES}
{"weight": "1", "metal": "steel", "observed": {"metl": "steel"}}
{"weight": "1 kg", "grade": [NINES]}
""".replace("NINES", "9" * 5000, 1).replace("NINES", "9" * 100)
    assert faults(text, "jsonl") == [
        "line 1, weight: 1.5 is not text; write it in quotes, a weight with its unit.",
        "line 2, wieght: 'wieght' is nothing that a part has. Did you mean weight?",
        "line 3, metl: 'metl' is no attribute of the rulebook (`gradewright-client attributes` lists them). "
        "Did you mean metal?",
        "line 4: this is not JSON (Expecting ',' delimiter at character 19); write one object a line.",
        "line 5: weight comes twice.",
        "line 6: this is not an object; write one part a line: {…}.",
        'line 7, observed: write {"attribute": value, …}.',
        "line 8, thickness: 6.35 does not fit; write it as text, with its unit.",
        "line 8, sticks_to_magnet: 1 does not fit; write true or false.",
        "line 8, made_year: false does not fit; write it in full, such as 1998.",
        "line 8, count: 'true' is not a number of pieces; write a whole number from 1 on.",
        "line 9: a number in this has too many digits to be read.",
        "line 10, metal: 'metal' is nothing that a part has; it belongs inside observed.",
        "line 10, metl: 'metl' is no attribute of the rulebook (`gradewright-client attributes` lists them). "
        "Did you mean metal?",
        "line 10, weight: '1' has no unit; write 1 kg or 1 lb.",
        f"line 11, grade: [{'9' * 59}… is not text; write it in quotes, a weight with its unit.",
    ]


def test_what_can_be_read_of_faulty_rows() -> None:
    """Of a row with a fault the rest is read, if a weight and what it is are among it, so that the service
    can look at that.
    """
    text = """name,count,weight,grade,metal,thickness
a,x,1 ton,lite,,
b,,1 kg,,coper,3 furlong
c,,1,lite,,
d,,1 kg,,coper,
e,,1 kg,x,copper,
"""
    file = read(text)
    assert file.parts == (
        Part("a", None, "1 ton", grade="lite"),
        Part("b", None, "1 kg", observed={"thickness": "3 furlong"}),
    )
    assert file.lines == (2, 3)
    assert [fault.line for fault in file.faults] == [2, 3, 4, 5, 6]


@pytest.mark.parametrize(
    ("name", "data", "kind"),
    [
        ("a.csv", b"{", "csv"),
        ("a.CSV", b"", "csv"),
        ("a.jsonl", b"name", "jsonl"),
        ("a.ndjson", b"", "jsonl"),
        ("a.json", b"", "jsonl"),
        ("-", b' \n{"name"', "jsonl"),
        ("-", b"\xef\xbb\xbf{", "jsonl"),
        ("-", b"name,weight", "csv"),
        ("parts", b"name,weight", "csv"),
    ],
)
def test_kind_of_file(name: str, data: bytes, kind: str) -> None:
    """The end of its name tells what a file holds, else its first sign."""
    assert guess_kind(name, data) == kind


@pytest.mark.parametrize(
    ("pointer", "skipped", "place"),
    [
        ("#/parts/0/weight", 0, "line 2, weight: no."),
        ("#/parts/1", 0, "line 5: no."),
        ("#/parts/0/observed/thickness", 1, "line 5, thickness: no."),
        ("#/parts/1/observed/a~1b~0c", 0, "line 5, a/b~c: no."),
        ("#/parts/2/weight", 0, None),
        ("#/parts/1/weight", 1, None),
        ("#/parts", 0, None),
        ("#/parts/x/weight", 0, None),
        ("#/region", 0, None),
        (None, 0, None),
    ],
)
def test_where_the_service_points(pointer: str | None, skipped: int, place: str | None) -> None:
    """A pointer of the service is told as the line and column of the file, if it is about a part."""
    file = read("name,weight,grade\na,1 kg,x\n\n\nb,1 kg,x\n")
    found = file.locate(Fault("no", pointer=pointer), skipped)
    assert (None if found is None else str(found)) == place


def test_a_column_is_named_once() -> None:
    """What the service says of a column by its name is told without naming it again."""
    file = read("name,weight,thickness\na,1 kg,2 x\n")
    found = file.locate(Fault("thickness: 'x' is no unit.", pointer="#/parts/0/observed/thickness"))
    assert str(found) == "line 2, thickness: 'x' is no unit."


@given(st.binary(max_size=300), st.sampled_from(["csv", "jsonl"]))
def test_any_bytes_are_read_or_faulted(data: bytes, kind: str) -> None:
    """Whatever bytes a file holds, reading it gives parts or faults with lines, nothing else."""
    try:
        file = read_parts(data, BOOK, kind=kind)
        lines = [*file.lines, *(fault.line for fault in file.faults)]
        assert len(file.parts) == len(file.lines)
    except FileFaults as error:
        lines = [fault.line for fault in error.faults]
    assert lines
    assert 1 <= min(lines) <= max(lines) <= data.count(b"\n") + data.count(b"\r") + 1


cells = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)


@given(st.lists(cells, min_size=3, max_size=3), st.integers(0, 3))
def test_rows_written_by_the_csv_module_are_read_back(row: list[str], blank: int) -> None:
    """What the standard CSV writer writes is read back as one row, on the line it begins on."""
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["name", "weight", "grade"])
    writer.writerows([[""] * 3] * blank)
    writer.writerow([f"n{row[0]}", f"1 kg{row[1].strip()}", f"g{row[2]}"])
    file = read(out.getvalue())
    assert file.parts == (
        Part(f"n{row[0]}".strip(), None, f"1 kg{row[1].strip()}".strip(), None, None, f"g{row[2]}".strip()),
    )


def test_help_names_the_columns() -> None:
    """The help of the command names every fixed column that a file may have."""
    from gradewright_sdk.cli import _rows, value

    assert all(column in value.HELP for column in _rows.FIXED)
