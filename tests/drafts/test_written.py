"""What a maintainer has written as YAML: its comments and lines are kept, for as long as it says the same."""

from __future__ import annotations

from typing import Any

from tests.drafts.desk import LIMIT, NEXT, RAIL, SEDGE, Desk
from tests.samples import TEXT

YAML = "application/yaml"
MINE = (
    TEXT.lstrip("\n")
    .replace('"2020.1"', f'"{NEXT["version"]}"  # ours')
    .replace("2020-01-01", NEXT["effective_from"])
    .replace("The first.", NEXT["summary"])
    .replace('describes: "Soldered."', 'describes: "Soldered."\n    by_name_only: true')
    .replace("rules:\n", "rules:\n  # the order decides\n")
)


async def made(desk: Desk, text: str = MINE, **query: Any) -> Any:
    """A draft of a YAML text."""
    asked = {"why": "x", "base": "2020.1", **query}
    answer = await desk.send("POST", "", SEDGE, text=text, media=YAML, **asked)
    assert answer.status_code == 201, answer.text
    return answer.json()


async def read(desk: Desk, name: str, **query: Any) -> tuple[str, str]:
    """The file that a draft is, and its ETag."""
    answer = await desk.send("GET", f"/{name}", SEDGE, format="yaml", **query)
    assert answer.status_code == 200, answer.text
    return answer.text, answer.headers["etag"]


async def put(desk: Desk, name: str, text: str, etag: str) -> Any:
    """What a file that was sent back has done."""
    answer = await desk.send("PUT", f"/{name}", RAIL, text=text, media=YAML, etag=etag, why="y")
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_comments_are_kept(desk: Desk) -> None:
    """The file is what was written, under a line that names the step; sent back as it is, nothing changes."""
    draft = await made(desk)
    text, etag = await read(desk, draft["id"])
    head, _, rest = text.partition("\n")
    assert (head.startswith("# d-1, step 1-"), rest) == (True, MINE)
    assert (await put(desk, "d-1", text, etag))["taken"] is None
    copy = await desk.make(body={"draft": "d-1"})
    assert (await read(desk, copy["id"]))[0].partition("\n")[2] == MINE


async def test_a_version_that_was_a_draft_keeps_them(desk: Desk) -> None:
    """A draft of it has its comments, with what is said to be its own in their places."""
    await made(desk)
    for step, who in (("submission", SEDGE), ("approval", RAIL)):
        await desk.taken("d-1", step, who)
    own = {"version": "2027.5", "effective_from": "2027-05-01", "summary": "The third."}
    later = await desk.make(body={"from": NEXT["version"]}, **own)
    text = (await read(desk, later["id"]))[0].partition("\n")[2]
    assert "# the order decides" in text
    assert "# ours" in text
    assert 'version: "2027.5"' in text or "version: '2027.5'" in text


async def test_a_comment_is_a_step_of_its_own(desk: Desk) -> None:
    """Who changes comments alone has taken a step: the document is the same, and the comment is there."""
    await made(desk)
    text, etag = await read(desk, "d-1")
    taken = await put(desk, "d-1", text.replace("# the order", "# their order"), etag)
    assert (taken["step"], taken["taken"]["changes"]) == (2, [])
    assert "# their order decides" in (await read(desk, "d-1"))[0]
    assert "# the order decides" in (await read(desk, "d-1", step=1))[0]
    await desk.taken("d-1", "submission", SEDGE)
    assert "# their order decides" in (await read(desk, "d-1"))[0]


async def test_an_edit_of_another_kind_ends_them(desk: Desk) -> None:
    """A patch has no comments: the file is written anew then, and so where a value of a text is replaced."""
    draft = await made(desk)
    assert (await desk.patch("d-1", LIMIT, draft["etag"])).status_code == 200
    text, _ = await read(desk, "d-1")
    assert ("# ours" in text, "6.345 mm" in text) == (False, True)
    await made(desk, version="2027.5")
    assert "2027.5" in (await read(desk, "d-2"))[0]


async def test_faults_have_the_lines_of_what_was_written(desk: Desk) -> None:
    """Each fault of the check has its line in the text as it was sent; without a text it has none."""
    wrong = MINE.replace("thickness: 6.34 mm}, grade: light-iron", "thickness: 6.34 mm}, grade: steel-heavy")
    draft = await made(desk, wrong)
    [fault] = (await desk.check("d-1"))["faults"]
    assert wrong.splitlines()[fault["line"] - 1].strip().startswith("- {part: {metal: steel, thickness: 6.34")
    text, etag = await read(desk, "d-1")
    later = text.replace("rules:\n", "\n\nrules:\n")
    await put(desk, "d-1", later, etag)
    [moved] = (await desk.check("d-1"))["faults"]
    assert moved["line"] == fault["line"] + 3
    assert later.splitlines()[moved["line"] - 1] == wrong.splitlines()[fault["line"] - 1]
    assert (await desk.patch("d-1", {"title": "Anew"}, (await desk.read("d-1"))["etag"])).status_code == 200
    assert [each["line"] for each in (await desk.check("d-1"))["faults"]] == [None]
    assert draft["id"] == "d-1"
