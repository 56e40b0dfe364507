"""What publications say: read from a file, loaded once, and told as what it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradewright.compositions.publications import load, read_publications
from gradewright.core.errors import Refused, UnknownGrade
from tests.api import World
from tests.compositions.recording import TREADMILL, recorded

FILE = """
kinds:
  treadmill: {name: "Treadmill", grade: light-iron}
  kettle: {name: "Kettle"}
sources:
  survey: {read: true, on: 2011-12-31, says: "A survey of treadmills, 2011"}
  other: {read: false, on: 2012-12-31, says: "Another one, 2012"}
records:
  - {kind: treadmill, source: survey, parts: [{grade: light-iron, share: 60 %, says: steel}]}
  - {kind: treadmill, source: other, parts: [{grade: light-iron, share: 80 %}]}
  - {kind: kettle, source: other, weight: 1 kg, parts: [{grade: light-iron, weight: 400 g}]}
"""


def written(folder: Path, text: str = FILE) -> Path:
    """The text as a file."""
    path = folder / "some.yaml"
    path.write_text(text, encoding="utf-8")
    return path


async def test_a_file_is_loaded_once(world: World, tmp_path: Path) -> None:
    """What is there already stays as it is; each publication has a voice, and nobody is its author."""
    service, published = world.services.compositions, read_publications(written(tmp_path))
    database, now = world.services.database, world.clock()
    before = await world.revision()
    assert await load(database, service, published, now) == 3
    assert await load(database, service, published, now) == 0
    assert await world.revision() == before + 1
    found = await world.get("/v1/compositions/treadmill")
    assert (found["records"], found["voices"], found["published"]) == (2, 2, True)
    assert found["parts"][0]["share"]["likely"] == "0.7"
    told = (await world.get("/v1/compositions/treadmill/records"))["records"]
    assert {(one["author"], one["from_memory"], one["parts"][0]["says"]) for one in told} == {
        (None, False, "steel"), (None, True, None),
    }  # fmt: skip


async def test_a_kind_that_members_have_made_is_theirs(world: World, tmp_path: Path) -> None:
    """A file adds to a kind that is there, and leaves its name as it is."""
    await recorded(world, new_kind={**TREADMILL, "name": "Running machine"})
    published = read_publications(written(tmp_path))
    await load(world.services.database, world.services.compositions, published, world.clock())
    assert (await world.get("/v1/compositions/treadmill"))["name"] == "Running machine"


async def test_a_file_is_loaded_whole_or_not_at_all(untouched: World, tmp_path: Path) -> None:
    """A grade that the rulebook does not have is told with its record, and nothing is stored."""
    published = read_publications(written(tmp_path, FILE.replace("400 g", "400 g, says: x").replace(
        "{grade: light-iron, weight", "{grade: tinplate, weight")))  # fmt: skip
    with pytest.raises(UnknownGrade, match=r"kettle \(Another one, 2012\): 'tinplate' is not a grade"):
        await load(untouched.services.database, untouched.services.compositions, published, untouched.clock())


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("source: survey, parts", "source: nobody, parts", "source 'nobody' stands nowhere"),
        ("kind: kettle, source", "kind: cattle, source", "kind 'cattle' stands nowhere"),
        ("read: true", "read: perhaps", "sources/survey/read"),
        ("weight: 400 g", "weight: 400 g, colour: red", "records/2/parts/0/colour"),
    ],
)
def test_what_is_wrong_with_a_file(tmp_path: Path, before: str, after: str, said: str) -> None:
    """A fault names the place in the file."""
    with pytest.raises(Refused, match=said):
        read_publications(written(tmp_path, FILE.replace(before, after)))
