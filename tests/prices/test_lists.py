"""A yard's whole list: held against its newest, stored all or nothing, never guessed at."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.api import World, only, posting, price, problem_of, settle, small_rulebook, stored, where
from tests.prices.uploading import LINES, dry_run, upload, uploaded

from gradewright.accounts.service import Role
from gradewright.prices.list_names import MOST_LOOKED_FOR

LISTS = "/v1/yards/low-quay/lists"
BEFORE = [
    price("copper-no1", "4.10"),
    price("copper-no2", "3.30"),
    price("copper-no2", "3.40", from_weight="100 lb"),
    price("light-iron", "0.08"),
    price("screws", "-5.00", "short ton"),
    price("copper-residue", "0"),
]

CASES: list[tuple[str, dict[str, Any]]] = [
    # the line, and what is told of it
    ("#2 Cu,,3.35,,,", {"change": "raised", "by": "0.05", "percent": "1.5", "grade": "copper-no2"}),
    ("#2 Cu,,3.30,,,", {"change": "same", "by": None, "percent": None}),
    ("#2  CU,,3.300,,,", {"change": "same", "price": "3.300"}),
    (",Birch,3.29,,,", {"change": "lowered", "by": "-0.01", "percent": "-0.3", "label": None}),
    ("#2 Cu,,3.40,,,1600 oz", {"change": "same", "from_weight": "1600 oz"}),
    ("#2 Cu,,3.40,,,200 lb", {"change": "new", "before": None}),
    ("#2 Cu,copper-no2,3.30,USD,lb,", {"change": "same"}),
    (",copper-no1,9.0389527,,kg,", {"change": "refused"}),  # more than six places
    (",copper-no1,9.038953,,kg,", {"change": "raised", "by": "0.000000", "percent": "0.0"}),
    (",light-iron,160,,short ton,", {"change": "same"}),
    (",light-iron,176,,short ton,", {"change": "raised", "by": "16", "percent": "10.0"}),
    (",copper-no1,3.40,,short ton,", {"change": "lowered", "by": "-8196.60", "percent": "-100.0"}),
    (",screws,-4,,short ton,", {"change": "raised", "by": "1.00", "percent": "20.0"}),
    (",copper-residue,1,,lb,", {"change": "raised", "by": "1", "percent": None}),
    (",steel-heavy,3,,lb,", {"change": "new", "per": "lb", "currency": "USD"}),
    (",steel-heavy,3,,pound,", {"change": "new", "per": "lb"}),
    ("#2Cu,,3.35,,,", {"change": "unknown", "label": "#2Cu", "grade": None}),
    (",copper-no3,3.35,,,", {"change": "unknown", "grade": "copper-no3"}),
    (",steel-heavy,3,,ton,", {"change": "refused"}),
    (",steel-heavy,3,EUR,,", {"change": "refused"}),
    (',steel-heavy,"3,35",,,', {"change": "refused"}),
    (",steel-heavy,,,,", {"change": "refused"}),
    (",,3,,,", {"change": "refused"}),
    (",steel-heavy,3,,,heavy", {"change": "refused"}),
    ("#2 Cu,copper-no1,3,,,", {"change": "refused"}),
    (
        "Bright and shiny,steel-heavy,3,,,",
        {"change": "new", "label": "Bright and shiny", "grade": "steel-heavy"},
    ),
]
HEAD = "label,grade,price,currency,per,from_weight\n"


@pytest.mark.parametrize(("line", "told"), CASES, ids=[line for line, _ in CASES])
async def test_what_a_line_changes(compared: dict[str, Any], line: str, told: dict[str, Any]) -> None:
    """Against the newest list a line is new, raised, lowered, the same, refused or unknown."""
    assert {name: compared[line][name] for name in told} == told
    assert (compared[line]["faults"] != []) == (told["change"] in ("refused", "unknown"))


@pytest.fixture(scope="module")
async def compared(request: pytest.FixtureRequest, shared: World) -> dict[str, Any]:
    """Each line of the cases, as a dry run of a list of its own tells of it."""
    await shared.post(*BEFORE, who="teal", on="2026-05-01")
    return {line: (await dry_run(shared, HEAD + line + "\n"))["lines"][0] for line, _ in CASES}


async def test_what_is_missing_is_gone(world: World) -> None:
    """Prices of the newest list that no line has any more come last, without a line; they stay as posted."""
    await world.post(*BEFORE[:3], on="2026-05-01")
    found = await uploaded(world, "label,price\n#2 Cu,3.35\n")
    assert [(line["line"], line["change"], line["grade"]) for line in found["lines"]] == [
        (2, "raised", "copper-no2"),
        (None, "gone", "copper-no1"),
        (None, "gone", "copper-no2"),
    ]
    assert found["lines"][2]["before"]["from_weight"] == "100 lb"
    assert (found["counts"]["gone"], found["counts"]["raised"]) == (2, 1)
    assert (await world.priced("copper-no1", yard="low-quay"))["likely"] == "4.10"


async def test_a_line_to_be_mended_is_not_gone(world: World) -> None:
    """A line that names a grade and is refused for something else does not count as missing."""
    await world.post(price("steel-heavy", "3"))
    found = await dry_run(world, "grade,price,per\nsteel-heavy,3,ton\n")
    assert [line["change"] for line in found["lines"]] == ["refused"]


async def test_a_dry_run_stores_nothing(world: World) -> None:
    """A dry run answers 200 for a list that can be stored and for one that cannot; nothing is stored."""
    before = await stored(world)
    good = await dry_run(world, "label,price\n#2 Cu,3.35\n", note="a word")
    assert (good["can_be_stored"], good["posting"], good["revision"], good["dry_run"]) == (
        True,
        None,
        None,
        True,
    )
    assert good["note"] == "a word"
    bad = await dry_run(world, "label,price\n#2 Cu,3.35\nelephants,3\n", key="once")
    assert (bad["can_be_stored"], bad["counts"]["new"], bad["counts"]["unknown"]) == (False, 1, 1)
    assert await stored(world) == before


async def test_a_list_is_one_posting(world: World) -> None:
    """Stored, it is a posting of the account at one revision; what it did not say is in the yard's terms."""
    before = await world.revision()
    body = "label;grade;price;from_weight\r\n#2 Cu;;3.35;\r\n;Birch;3.45;100 lb\r\n"
    found = await uploaded(world, body, evidence="sign", note="from the gate")
    assert (found["revision"], found["compared_with"]) == (before + 1, before)
    posting = await world.get(f"/v1/postings/{found['posting']}")
    assert (posting["author"], posting["evidence"], posting["note"]) == ("wren", "sign", "from the gate")
    assert [
        (one["label"], one["grade"], one["price"], one["currency"], one["per"], one["from_weight"])
        for one in posting["prices"]
    ] == [
        ("#2 Cu", "copper-no2", "3.35", "USD", "lb", None),
        (None, "copper-no2", "3.45", "USD", "lb", "100 lb"),
    ]
    assert (await world.priced("copper-no2", yard="low-quay"))["likely"] == "3.35"


async def test_json_lines_say_the_same(world: World) -> None:
    """JSON Lines are the same list as the CSV of the same names."""
    await uploaded(world, "label,price,from_weight\n#2 Cu,3.35,\n#1 Cu,4.10,100 lb\n")
    lines = [
        {"label": "#2 Cu", "price": "3.35"},
        {"label": "#1 Cu", "price": "4.10", "from_weight": "100 lb"},
    ]
    body = "\n".join(map(json.dumps, lines))
    found = await dry_run(world, body, media=LINES)
    assert [(line["line"], line["change"]) for line in found["lines"]] == [(1, "same"), (2, "same")]
    assert (await dry_run(world, body, media="application/jsonl; charset=UTF-8"))["counts"]["same"] == 2


FAULTY = (
    "label,grade,price,currency,per,from_weight\n"
    "#2 Cu,,3.35,,,\n"
    "elephants,,3.35,EUR,ton,heavy\n"
    ',steel-heavy,"3,35",dollars,lb,\n'
    "\n"
    '"broken\nlabel",,3,,,\n'
    ",copper-no2,3,,,,,x\n"
    ",Birch,3.3,,,\n"
    ",steel-heavy,3,,,\n"
)


async def test_every_fault_is_told_with_its_line(untouched: World) -> None:
    """All faults of all lines come at once, each pointing at its line of the file and its column."""
    problem = problem_of(await upload(untouched, FAULTY, yard="low-quay"), "invalid-request")
    assert where(problem) == [
        "#/lines/3/currency",
        "#/lines/3/label",
        "#/lines/3/per",
        "#/lines/3/from_weight",
        "#/lines/4/price",
        "#/lines/4/currency",
        "#/lines/6/label",
        "#/lines/8",
        "#/lines/9",
    ]
    assert problem.detail.startswith("line 3, currency: ")
    assert "Nothing was stored. (and 8 more)" in problem.detail
    assert "line 2" in problem.errors[-1].detail


UNREAD = [
    # a line of JSON Lines, and each place and the beginning of what is said there: nothing but what is so
    ('{"label":"#2 Cu","price":3.4}', [("price", "Write this as text, in quotes")]),
    ('{"label":2,"price":"3.4"}', [("label", "Write this as text, in quotes")]),
    ('{"price":3.4}', [("price", "Write this as text"), (None, "What was priced is missing")]),
    ('{"label":"#2 Cu"}', [("price", "The price is missing.")]),
    ('{"label":"#2 Cu","price":null}', [("price", "The price is missing.")]),
    ('{"label":"#2 Cu","cost":"3.4"}', [(None, "A line has no 'cost'"), ("price", "The price is missing.")]),
    ("#2 Cu 3.40", [(None, "This is not JSON")]),
    ("[3.4]", [(None, "This is not an object.")]),
]


@pytest.mark.parametrize(("line", "told"), UNREAD)
async def test_what_cannot_be_read_is_not_missing(untouched: World, line: str, told: list[Any]) -> None:
    """A cell or a line that is there and cannot be read is told as that, and not as missing too."""
    found, *_ = (await dry_run(untouched, line + "\n", media=LINES))["lines"]
    assert [fault["column"] for fault in found["faults"]] == [column for column, _ in told]
    for fault, (_, begins) in zip(found["faults"], told, strict=True):
        assert fault["detail"].startswith(begins)


async def test_a_bare_ton_is_refused(untouched: World) -> None:
    """Three tons are meant by "ton": the fault names them."""
    fault = only(problem_of(await upload(untouched, "grade,price,per\nscrews,3,ton\n"), "invalid-request"))
    assert (fault.pointer, fault.suggestions) == ("#/lines/2/per", ["short ton", "gross ton", "t"])


async def test_a_grade_that_the_yard_does_not_take(untouched: World) -> None:
    """What the yard refuses is refused, by its label or its name."""
    response = await upload(untouched, "grade,price\nsteel-heavy,3\n", yard="tern-row")
    assert where(problem_of(response, "invalid-request")) == ["#/lines/2/grade"]


@pytest.mark.parametrize(
    "label", ["Birch", "copper-no2", "Copper No. 2", "#2 Copper", "2 Cu", "#3 Cu", "№ 2 Cu"]
)
async def test_an_unknown_label_is_never_guessed(untouched: World, label: str) -> None:
    """Even a label that is a grade's own name is not taken for it; what is near is told, with its names."""
    problem = problem_of(await upload(untouched, f"label,price\n{label},3.35\n"), "unknown-grade")
    assert where(problem) == ["#/lines/2/label"]
    line, *_ = (await dry_run(untouched, f"label,price\n{label},3.35\n"))["lines"]
    assert (line["change"], line["grade"], line["price"]) == ("unknown", None, None)


NEAR = [
    ("#2Cu", [("label", "#2 Cu", "copper-no2"), ("grade", "Copper No. 2", "copper-no2")]),
    ("Birhc", [("grade", "Birch", "copper-no2")]),
    ("Coper No. 2", [("label", "#2 Cu", "copper-no2"), ("grade", "Copper No. 2", "copper-no2")]),
    ("Shiny Cu", [("label", "#1 Cu", "copper-no1"), ("label", "#2 Cu", "copper-no2")]),
    ("#3 Cu", [("label", "#1 Cu", "copper-no1"), ("label", "#2 Cu", "copper-no2")]),
    ("wallpaper", []),
]


@pytest.mark.parametrize(("label", "near"), NEAR)
async def test_what_is_near_an_unknown_label(untouched: World, label: str, near: list[Any]) -> None:
    """Labels and grades alike are told with the name that is alike; those with another number only where none
    has this one."""
    line, *_ = (await dry_run(untouched, f"label,price\n{label},3\n"))["lines"]
    found = [(one["kind"], one["written"], one["grade"]) for one in line["near"]]
    assert found[: len(near)] == near if near else found == []
    for kind, written, grade in near:
        assert (written if kind == "label" else grade) in line["faults"][0]["detail"]


async def test_names_are_looked_for_near_so_many_labels(untouched: World) -> None:
    """Whoever sends a file of something else is not waited for: of the first two hundred unknown labels it is
    told what is near."""
    rows = "".join(f"Shiny{number} Cu,3\n" for number in range(MOST_LOOKED_FOR + 3))
    lines = (await dry_run(untouched, f"label,price\n{rows}"))["lines"]
    unknown = [line for line in lines if line["change"] == "unknown"]
    assert [bool(line["near"]) for line in unknown] == [True] * MOST_LOOKED_FOR + [False] * 3


async def test_a_label_that_is_a_name_of_a_grade_is_told_so(untouched: World) -> None:
    """It is not taken for the grade; that it is a name of it is said, in a list and in a posting."""
    line, *_ = (await dry_run(untouched, "label,price\nBirch,3\n"))["lines"]
    assert "It is a name of the grade copper-no2." in line["faults"][0]["detail"]
    seen = {"label": "Birch", "price": "3", "currency": "USD", "per": "lb"}
    problem = problem_of(await untouched.send("/v1/postings", posting(seen), "wren"), "unknown-grade")
    assert "It is a name of the grade copper-no2. " in problem.detail
    assert "Or" not in problem.detail


async def test_a_posting_tells_what_is_near_as_a_list_does(untouched: World) -> None:
    """An unknown label of a posting comes back with the same labels and grades."""
    seen = {"label": "Shiny Cu", "price": "3", "currency": "USD", "per": "lb"}
    problem = problem_of(await untouched.send("/v1/postings", posting(seen), "wren"), "unknown-grade")
    assert (
        "Its nearest labels: '#1 Cu', '#2 Cu'. The nearest grades: copper-no1, copper-no2" in problem.detail
    )
    assert problem.errors is not None
    assert problem.errors[0].suggestions == ["#1 Cu", "#2 Cu"]


async def test_a_label_counts_from_its_day(world: World) -> None:
    """The label table is that of the day of the list."""
    body = "label,price\n#2 Cu,3.35\n"
    assert (await dry_run(world, body, observed_on="2026-01-01"))["can_be_stored"]
    assert not (await dry_run(world, body, observed_on="2025-12-31"))["can_be_stored"]


async def test_all_or_nothing(untouched: World) -> None:
    """One faulty line among many keeps all of them from being stored (the fixture holds the tables)."""
    lines = [f"#2 Cu,3.35,{number} lb" for number in range(1, 100)]
    body = "label,price,from_weight\n" + "\n".join([*lines, "elephants,3,"])
    assert where(problem_of(await upload(untouched, body), "unknown-grade")) == ["#/lines/101/label"]


async def test_who_may_upload(world: World) -> None:
    """Members and maintainers; without a key 401, in a dry run too."""
    body = "label,price\n#2 Cu,3.35\n"
    problem_of(await upload(world, body, None), "unauthorized")
    problem_of(await upload(world, body, None, dry_run="true"), "unauthorized")
    found = await uploaded(world, body, who="sedge", role=Role.MAINTAINER)
    assert (await world.get(f"/v1/postings/{found['posting']}"))["author"] == "sedge"


async def test_a_list_is_stored_once(world: World) -> None:
    """Under one key the same list is stored once; another file or another day under it is refused."""
    body = "label,price\n#2 Cu,3.35\n"
    first = await upload(world, body, key="k1")
    again = await upload(world, body, key="k1")
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["idempotency-replayed"] == "true"
    assert again.headers["location"] == first.headers["location"]
    assert len((await world.get("/v1/postings"))["postings"]) == 1
    problem_of(await upload(world, body + "#1 Cu,4\n", key="k1"), "idempotency-mismatch")
    problem_of(await upload(world, body, key="k1", observed_on="2026-05-03"), "idempotency-mismatch")


@pytest.mark.parametrize(
    ("query", "slug", "at"),
    [
        ({"observed_on": "2026-05-06"}, "invalid-request", "observed_on"),
        ({"observed_on": "yesterday"}, "invalid-request", "observed_on"),
        ({"observed_on": "2019-01-01"}, "no-rulebook-in-force", "observed_on"),
        ({"evidence": "hearsay"}, "invalid-request", "evidence"),
        ({"dry_run": "yes"}, "invalid-request", "dry_run"),
        ({"colour": "blue"}, "invalid-request", "colour"),
    ],
)
async def test_what_is_asked_is_held_to_its_form(
    untouched: World, query: dict[str, Any], slug: str, at: str
) -> None:
    """Faults of the query are told at the parameter."""
    assert where(problem_of(await upload(untouched, "label,price\n#2 Cu,3\n", **query), slug)) == [at]


async def test_a_yard_that_is_not_there(untouched: World) -> None:
    """The path names it: 404, of a list that is sent and of one that is asked for."""
    problem_of(await upload(untouched, "label,price\na,3\n", yard="low-key"), "unknown-yard", 404)
    problem_of(await untouched.client.get("/v1/yards/low-key/lists"), "unknown-yard", 404)


async def test_other_bodies(untouched: World) -> None:
    """JSON, forms and files that cannot be read are told apart; a list is read as what it is said to be."""
    response = await upload(untouched, "{}", media="application/json")
    problem_of(response, "unsupported-media-type")
    assert "text/csv" in response.headers["accept-post"]
    problem_of(
        await upload(untouched, "label,price\na,1", media="text/csv; charset=latin-1"),
        "unsupported-media-type",
    )
    assert where(problem_of(await upload(untouched, b"label\xff,price\na,1"), "malformed-request")) == [
        "#/lines/1"
    ]
    assert where(problem_of(await upload(untouched, ""), "invalid-request")) == ["#/lines/1"]
    response = await upload(untouched, "label,price\n#2 Cu,3\n", media=LINES)
    assert where(problem_of(response, "invalid-request")) == ["#/lines/1", "#/lines/2"]
    too_much = b"label,price\n" + b"#2 Cu,3.35\n" * 800_000
    problem_of(await upload(untouched, too_much), "payload-too-large")


async def test_a_grade_has_a_bounded_number_of_prices(untouched: World) -> None:
    """Of one grade a list has at most 100 from-weights: a price list is worked out from all of them."""
    lines = [f"#2 Cu,3.35,{number} lb" for number in range(1, 102)]
    response = await upload(untouched, "label,price,from_weight\n" + "\n".join(lines))
    assert where(problem_of(response, "invalid-request")) == ["#/lines/102/from_weight"]


async def test_ten_thousand_lines_and_reading_them(world_without_rulebook: World) -> None:
    """10,000 lines are stored in one posting; it is read page by page, and listed with its first page."""
    world = world_without_rulebook
    document = small_rulebook()
    for number in range(100):
        sort = {"name": f"Sort {number}", "family": "copper", "describes": "x", "by_name_only": True}
        document["grades"][f"sort-{number}"] = sort
    await world.publish(document)
    await settle(world)
    lines = (f"sort-{number // 100},{number % 90}.50,{number % 100 + 1} lb" for number in range(10_000))
    found = await uploaded(world, "grade,price,from_weight\n" + "\n".join(lines))
    assert found["counts"]["new"] == 10_000
    read: list[int] = []
    next_line: int | None = 1
    while next_line is not None:
        page = await world.get(f"/v1/postings/{found['posting']}", from_line=next_line)
        assert len(page["prices"]) == 500
        read += [one["line"] for one in page["prices"]]
        next_line = page["next_line"]
    assert read == list(range(1, 10_001))
    (listed,) = (await world.get("/v1/postings"))["postings"]
    assert (len(listed["prices"]), listed["next_line"]) == (500, 501)
