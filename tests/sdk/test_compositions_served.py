"""What devices are made of, through the client and its command line, spoken to the real service in this
process."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from decimal import Decimal
from pathlib import Path

import pytest
from tests.api import World, empty_world, settle
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members

import gradewright_sdk as gw
from gradewright.accounts.service import Role

PARTS = [gw.Part("frame", weight="42 kg", grade="tin"), {"grade": "Birch", "weight": "1.4 kg", "count": 1}]
NEW = {"name": "Treadmill", "grade": "light-iron"}
FILE = "name,weight,grade,metal,steel_screws\nframe,42 kg,tin,,\nwinding,1.4 kg,,copper,yes\n"


@pytest.fixture
async def members(request: pytest.FixtureRequest) -> AsyncIterator[Members]:
    """Clients of the members of the small district."""
    async with empty_world(request, "sqlite") as world:
        await settle(world)
        for who in ("wren", "heron"):
            await world.key(who)
        await world.key("sedge", Role.MAINTAINER)
        yield Members(world, InProcess(world.client, {}))


async def test_a_device_is_recorded_read_and_taken_back(members: Members) -> None:
    """Typed results of each call; entries of the ledger are typed."""

    def work() -> None:
        wren, sedge = members.client("wren"), members.client("sedge")
        assert wren.compositions.kinds() == ()
        with pytest.raises(gw.UnknownDeviceKind):
            wren.compositions.get("treadmill")
        with pytest.raises(gw.UnknownDeviceKind):
            wren.compositions.record("treadmill", PARTS, on="2026-05-02")
        made = wren.compositions.record(
            "treadmill", PARTS, on="2026-05-02", weight="70 kg", minutes=60, new_kind=NEW
        )
        found = wren.compositions.get("treadmill", weight="35 kg")
        assert (found.name, found.records, found.parts[0].grade) == ("Treadmill", 1, "light-iron")
        assert found.parts[0].weight_kg is not None
        assert found.parts[0].weight_kg.likely == Decimal(21)
        (kind,) = wren.compositions.kinds()
        assert (kind.kind, kind.minutes is not None) == ("treadmill", True)
        (one,) = wren.compositions.records("treadmill").records
        assert (one.id, one.minutes, one.parts[1].count, one.withdrawn) == (made.id, Decimal(60), 1, None)
        entries = [e for e in wren.ledger.entries() if e.revision == made.revision]
        assert [type(entry) for entry in entries] == [
            gw.DeviceKindEntry, gw.CompositionEntry, gw.ComponentEntry, gw.ComponentEntry,
        ]  # fmt: skip
        told = sedge.compositions.correct("treadmill", name="Treadmill", reason="nobody buys one whole")
        assert (told.grade, wren.compositions.get("treadmill").grade) == (None, None)
        (entry,) = [e for e in wren.ledger.entries() if e.revision == told.revision]
        assert isinstance(entry, gw.DeviceKindCorrectionEntry)
        assert entry.device_kind == "treadmill"
        gone = sedge.compositions.withdraw("treadmill", made.id, reason="of another device")
        assert gone.id == made.id
        assert wren.compositions.get("treadmill").parts == ()

    await members.apart(work)


async def test_the_asynchronous_client_reads_the_same(members: Members) -> None:
    """Both clients have the same calls."""
    world: World = members.world
    async with gw.AsyncClient(http_client=world.client, key="") as client:
        assert await client.compositions.kinds() == ()


async def test_the_shell_records_and_shows(members: Members, tmp_path: Path) -> None:
    """`record` stores a file of parts, `compositions` shows what came of it, scaled; and takes it back."""
    file = tmp_path / "treadmill.csv"
    file.write_text(FILE)
    told = ["--on", "2026-05-02", "--weight", "70 kg", "--minutes", "60"]
    new = ["--new", "Treadmill", "--sold-as", "light-iron"]
    kept = await members.shell("wren", "record", "treadmill", str(file), *told, *new)
    assert kept.exit_code == 0, kept.output
    assert "Stored as c-" in kept.output
    assert "Treadmill (treadmill): 1 record of 1 member now, the first of its kind." in kept.output
    listed = (await members.shell("heron", "compositions")).output
    assert "treadmill" in listed
    assert "1 people" not in listed
    one = (await members.shell("heron", "compositions", "treadmill", "--weight", "35 kg")).output
    assert "10.5 – 21 – 31.5" in one
    assert "30 – 60 – 90 minutes" in one
    assert "one person" in one
    said = ("compositions", "treadmill", "--correct", "nobody buys one whole")
    assert (await members.shell("sedge", *said)).exit_code == 2
    told = await members.shell("sedge", *said, "--not-sold-whole")
    assert "treadmill is Treadmill, sold whole in no grade, from ledger revision" in told.output
    told = await members.shell("sedge", *said, "--name", "Treadmills", "--sold-as", "tin", "--json")
    assert [json.loads(told.stdout)[name] for name in ("name", "grade")] == ["Treadmills", "light-iron"]
    assert (await members.shell("heron", *said, "--name", "x")).exit_code == 1
    as_json = json.loads((await members.shell("heron", "compositions", "treadmill", "--json")).output)
    assert as_json["records"] == 1
    records = (await members.shell("heron", "compositions", "treadmill", "--records")).output
    assert "copper-residue 1.4 kg" in records
    name = json.loads(
        (await members.shell("heron", "compositions", "treadmill", "--records", "--json")).output
    )
    taken = await members.shell(
        "wren", "record", "treadmill", "--withdraw", name["records"][0]["id"], "--reason", "a slip"
    )
    assert "counts no more" in taken.output, taken.output
    assert (
        "taken back: a slip"
        in (await members.shell("heron", "compositions", "treadmill", "--records")).output
    )


async def test_the_shell_points_at_lines(members: Members, tmp_path: Path) -> None:
    """What is wrong in the file is told by its line, what is wrong beside it as the service says."""
    file = tmp_path / "treadmill.csv"
    file.write_text(FILE.replace("42 kg", "42 ton"))
    command = ["record", "treadmill", str(file), "--on", "2026-05-02", "--new", "Treadmill"]
    wrong = await members.shell("wren", *command)
    assert wrong.exit_code == 2
    assert "line 2, weight" in " ".join(wrong.output.split())
    file.write_text("name,weight,metal\nsheet,3 kg,steel\n")
    undecided = await members.shell("wren", *command)
    assert undecided.exit_code == 2
    assert "line 2" in undecided.output
    file.write_text(FILE)
    late = await members.shell("wren", *command[:4], "2027-05-02", *command[5:])
    assert late.exit_code == 1
    assert "has not come yet" in " ".join(late.output.split())
    for words in (["record", "treadmill"], ["record", "treadmill", str(file)],
                  ["record", "treadmill", "--withdraw", "c-1"], ["compositions", "--weight", "1 kg"],
                  ["record", "treadmill", str(file), "--on", "2026-05-02", "--sold-as", "tin"],
                  ["compositions", "treadmill", "--records", "--weight", "1 kg"]):  # fmt: skip
        assert (await members.shell("wren", *words)).exit_code == 2, words
