"""gradewright-client house-rules: shown to anybody, added to by maintainers, against the real service."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator

import pytest
from tests.api import World, empty_world, settle
from tests.sdk.conftest import Run
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members

from gradewright.accounts.service import Role
from gradewright_sdk.testing import FakeGradewright, samples

LOW_QUAY, BAY = ("house-rules", "low-quay"), ("house-rules", "XO-KEL")
WHY = ("--reason", "The sign.")
GIRDER = ("--label", "Girder=1/2=steel-heavy")
SAYS = "heavy_steel_thickness=1/8 in: heavy steel begins at 1/8 in"


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
async def members(request: pytest.FixtureRequest) -> AsyncIterator[Members]:
    """The small district, a maintainer and a member."""
    async with empty_world(request, "sqlite") as world:
        await settle(world)
        for who, role in (("sedge", Role.MAINTAINER), ("wren", Role.MEMBER)):
            await world.key(who, role)
        yield Members(world, InProcess(world.client, {}))


async def test_what_is_added_is_shown_then_and_lifted(members: Members) -> None:
    """What a yard and its region say holds there from its day on, and can be shown as it was known before."""
    world: World = members.world
    before = await world.revision()
    added = await members.shell("sedge", *LOW_QUAY, "--limit", SAYS, *GIRDER, *WHY, "--from", "2026-05-01")
    assert added.exit_code == 0, added.output
    said = words(added.stdout)
    assert "low-quay: 2 house rules added, ledger revision" in said
    assert "heavy_steel_thickness = 1/8 in (heavy steel begins at 1/8 in), from 2026-05-01 on" in said
    assert "'Girder=1/2' is steel-heavy, from 2026-05-01 on" in said
    assert (
        await members.shell("sedge", *BAY, "--refuses", "light-iron", "--reason", "By-law 12.")
    ).exit_code == 0

    shown = words((await members.shell("wren", *LOW_QUAY)).stdout)
    assert "low-quay: what holds on 2026-05-04, as known at ledger revision" in shown
    for told in (
        "heavy_steel_thickness = 1/8 in (heavy steel begins at 1/8 in) low-quay 2026-05-01 The sign.",
        "does not take light-iron XO-KEL 2026-05-04 By-law 12.",
        "'#2 Cu' is copper-no2 low-quay 2026-01-01 -",
    ):
        assert told in shown
    then = words((await members.shell("wren", *LOW_QUAY, "--known-at", str(before))).stdout)
    assert "Girder" not in then
    assert "'#2 Cu' is copper-no2" in then
    assert "Girder" not in (await members.shell("wren", *LOW_QUAY, "--on", "2026-04-30")).stdout

    lifted = ("--limit", "heavy_steel_thickness=", "--label", "Girder=1/2=", "--refuses", "copper-no1")
    assert (await members.shell("sedge", *LOW_QUAY, *lifted, *WHY)).exit_code == 0
    assert (await members.shell("sedge", *BAY, "--takes", "light-iron", *WHY)).exit_code == 0
    now = words((await members.shell("wren", *LOW_QUAY)).stdout)
    assert "heavy_steel" not in now
    assert "light-iron" not in now
    assert "does not take copper-no1 low-quay 2026-05-04 The sign." in now
    ever = words((await members.shell("wren", *LOW_QUAY, "--history")).stdout)
    for told in (
        "heavy_steel_thickness as in the rulebook",
        "'Girder=1/2' means nothing of its own",
        "= 1/8 in",
    ):
        assert told in ever
    assert "takes light-iron again" in words((await members.shell("wren", *BAY, "--history")).stdout)


async def test_refusals_are_told_by_their_options(members: Members) -> None:
    """A fault names the option and which of several; who is no maintainer is told so; nothing is stored."""
    before = await members.world.revision()
    wrong = ("--limit", "heavy_steel_thickness=3 mm", "--limit", "heavy_steel=1 mm")
    found = await members.shell("sedge", *LOW_QUAY, *wrong, "--refuses", "boards-lowest", *WHY)
    assert found.exit_code == 1
    assert "--limit 2: " in found.stderr
    assert "heavy_steel_thickness" in found.stderr
    assert "maintainer" in (await members.shell("wren", *LOW_QUAY, *GIRDER, *WHY)).stderr
    unknown = await members.shell("wren", "house-rules", "low-key")
    assert (unknown.exit_code, "low-quay" in unknown.stderr) == (1, True)
    assert "PLACE: There is no yard 'low-key'" in words(unknown.stderr)
    elsewhere = await members.shell("wren", "house-rules", "XO-KEK")
    assert "PLACE: There is no region 'XO-KEK'" in words(elsewhere.stderr)
    assert "no house rules on" in (await members.shell("wren", "house-rules", "XO")).stdout
    assert await members.world.revision() == before


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (GIRDER, "--reason"),
        (WHY, "what is added"),
        ((*GIRDER, *WHY, "--on", "2026-05-04"), "--from a day"),
        ((*GIRDER, *WHY, "--history"), "--from a day"),
        (("--from", "2026-05-04"), "a day to show is --on"),
        (("--limit", "heavy_steel_thickness", *WHY), "write it with ="),
        (("--label", "=copper-no1", *WHY), "write it with ="),
    ],
)
def test_wrong_usage_is_told_before_anything_is_sent(
    fake: FakeGradewright, run: Run, given: tuple[str, ...], says: str
) -> None:
    """What cannot be meant ends with 2."""
    found = run(*LOW_QUAY, *given)
    assert (found.exit_code, says in words(found.stderr)) == (2, True)
    assert not fake.requests


def test_what_is_sent_and_printed_for_scripts(fake: FakeGradewright, run: Run) -> None:
    """What is said goes out as it was typed; --json prints the answers as they came."""
    fake.answer("POST", "/v1/yards/low-quay/house-rules", samples.house_rules_added(), status=201)
    fake.answer("GET", "/v1/regions/XO-KEL/house-rules", samples.house_rules())
    found = run(*LOW_QUAY, "--limit", SAYS, "--takes", "boards-low", *WHY, "--json")
    assert json.loads(found.stdout) == samples.house_rules_added()
    limit = {"limit": "heavy_steel_thickness", "value": "1/8 in", "says": "heavy steel begins at 1/8 in"}
    assert fake.requests[-1].json == {
        "reason": "The sign.", "limits": [limit], "labels": [], "refuses": [], "takes": ["boards-low"],
    }  # fmt: skip
    asked = run(*BAY, "--on", "2026-05-01", "--known-at", "9", "--json")
    assert json.loads(asked.stdout) == samples.house_rules()
    assert fake.requests[-1].query == {"on": "2026-05-01", "known_at": "9"}
