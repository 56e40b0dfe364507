"""gradewright-client drafts, impact and compare: what maintainers do, over the real service."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.api import small_rulebook
from tests.drafts.test_proving import with_thin_steel
from tests.sdk.conftest import Run
from tests.sdk.test_drafts_served import bay, members
from tests.sdk.test_words_served import Members
from typer.testing import CliRunner, Result

import gradewright_sdk as gw
from gradewright.rulebooks import comparison_together
from gradewright_sdk.cli import app
from gradewright_sdk.cli._described import in_words
from gradewright_sdk.testing import FakeGradewright

__all__ = ["bay", "members"]
NEXT = ("--version", "2027.1", "--effective-from", "2027-01-01", "--summary", "The second.")
WHY = ("--why", "6.345 mm since June")
STRAP = "name,weight,metal,thickness\nstrap,10 lb,steel,6.347 mm\n"
JSONL = {"Content-Type": "application/jsonl"}
ASKS = {"kind": "yes_no", "asks": "Painted?", "test": "look", "minutes": "0.1", "beware": "primer"}


class Shell:
    """The client's command line, spoken by one maintainer or another."""

    def __init__(self, members: Members) -> None:
        self._members = members

    def run(self, who: str, *words: str) -> Result:
        """A command, however it ends, unless by an error of ours."""
        opened: Any = lambda url, timeout: self._members.client(who)  # noqa: E731
        found = CliRunner().invoke(app, list(words), obj=opened, env={"COLUMNS": "100"})
        if found.exception is not None and not isinstance(found.exception, SystemExit):
            raise found.exception
        return found

    def done(self, who: str, *words: str) -> str:
        """What a command that is expected to succeed has printed."""
        found = self.run(who, *words)
        assert found.exit_code == 0, found.output
        return found.stdout


async def test_a_list_may_have_columns_of_what_the_draft_adds(members: Members, tmp_path: Path) -> None:
    """An observation, or a value, that only the draft has words for counts under the draft alone."""

    def work() -> None:
        shell, drafts = Shell(members), members.client("sedge").drafts
        shell.done("sedge", "drafts", "new", "--from", "2020.1", *NEXT, *WHY)
        adds = {"painted": ASKS, "metal": {"choices": {"brass": "yellow"}}}
        drafts.patch("d-1", {"attributes": adds}, etag=drafts.get("d-1").etag, why="Brass, and paint.")
        (tmp_path / "parts.csv").write_text(
            "name,weight,metal,thickness,painted\nrail,1 lb,steel,8 mm,yes\ntap,1 lb,brass,,\n"
        )
        asked = ("impact", "d-1", "--list", str(tmp_path / "parts.csv"), "--region", "XO-KEL")
        held = shell.done("sedge", *asked)
        assert "1 valuation, 2 parts, of which 1 changes its grade." in held
        assert "tap: undecided (no price) -> ungraded (no price)" in held
        (tmp_path / "parts.csv").write_text("name,weight,metal,paintd\nrail,1 lb,steel,yes\n")
        assert "painted" in shell.run("sedge", *asked).stderr

    await members.apart(work)


async def test_a_version_from_a_draft_to_its_publication(members: Members, tmp_path: Path) -> None:
    """Made, edited as a file, compared, held against a list, checked, submitted, and approved by another."""

    def work() -> None:
        shell, file = Shell(members), tmp_path / "next.yaml"
        made = shell.done("sedge", "drafts", "new", "--from", "2020.1", *NEXT, *WHY)
        assert "d-1 is a draft, at step 1-" in made
        file.write_text(shell.done("sedge", "drafts", "show", "d-1", "--yaml"))
        text = file.read_text().replace("value: 6.35 mm", "value: 6.345 mm")
        file.write_text(text.replace("\nlimits:", "\n# since June\nlimits:"))
        edited = shell.done("sedge", "drafts", "edit", str(file), *WHY)
        assert 'limit heavy_steel_thickness, value: "6.35 mm" -> "6.345 mm"' in edited
        assert "To go on in this file: --at 2" in edited
        assert "# since June" in shell.done("rail", "drafts", "show", "d-1", "--yaml")
        stale = shell.run("rail", "drafts", "edit", str(file), *WHY)
        assert (stale.exit_code, "sedge edited it at" in stale.stderr) == (1, True)
        assert "a file of yours that has all of it goes in with --at 2." in stale.stderr
        assert "Light iron -> Heavy steel" in shell.done("sedge", "compare", "2020.1", "d-1")
        (tmp_path / "parts.csv").write_text(STRAP)
        parts = ("--list", str(tmp_path / "parts.csv"), "--region", "XO-KEL")
        held = shell.done("sedge", "impact", "d-1", *parts)
        assert "d-1 (2027.1) against 2020.1: 1 valuation, 1 part, of which 1 changes its grade." in held
        assert "strap: light-iron (no price) -> steel-heavy (no price)" in held
        nothing = shell.done("sedge", "impact", "d-1", "--to", "2026-05-05")
        assert "d-1 (2027.1) against 2020.1, kept from 2026-02-04 to 2026-05-05: no valuations." in nothing
        assert all(way in " ".join(nothing.split()) for way in ("--from", "--list FILE", "value FILE --keep"))
        backwards = shell.run("sedge", "impact", "d-1", "--from", "2026-05-02", "--to", "2026-05-01").stderr
        assert "--from: The span ends before it begins: 2026-05-02 to 2026-05-01. Give --from" in backwards
        seen = gw.PriceSeen("0.07", "USD", "lb", grade="light-iron")
        members.client("wren").postings.create(
            "cinder-lane", prices=[seen], observed_on="2026-05-04", evidence="sign"
        )
        priced = shell.done("sedge", "impact", "d-1", *parts)
        assert "0 lose 0.00, 0 gain 0.00. 1 have parts that lose their price, 0.70 together." in priced
        assert "Lose a price" in priced
        assert "d-1 is sound, and proved." in shell.done("sedge", "drafts", "check", "d-1")
        assert "d-1 is submitted, at step 3-" in shell.done("sedge", "drafts", "submit", "d-1", *WHY)
        unread = shell.run("rail", "drafts", "approve", "d-1", *WHY)
        assert (unread.exit_code, "--at" in unread.stderr) == (2, True)
        own = shell.run("sedge", "drafts", "approve", "d-1", "--at", "3", *WHY)
        assert own.exit_code == 1
        approved = shell.done("rail", "drafts", "approve", "d-1", "--at", "3", *WHY)
        assert "d-1 is published: version 2027.1, from 2027-01-01 on." in approved
        shown = shell.done("rail", "drafts", "show", "d-1")
        assert "d-1 (published, to come), version 2027.1 from 2027-01-01 on: A small rulebook" in shown
        assert all(word in shown for word in ("sedge", "rail", "made", "edited", "submitted", "approved"))
        assert "Light iron -> Heavy steel" in shell.done("wren", "compare", "2020.1", "2027.1")
        assert "2027.1 is proved: every part that can be described" in shell.done("wren", "proof", "2027.1")

    await members.apart(work)


async def test_the_proof_of_a_published_version(members: Members) -> None:
    """Anybody is told what does not hold of it, each with a part; the command ends with 1 then. With --pairs
    also what the order of its rules decides."""
    made = with_thin_steel(below="3 mm")
    made["examples"] = [example for example in made["examples"] if example["part"].get("metal") != "steel"]
    thinner = {"metal": "steel", "thickness": {"below": "1 mm"}}
    made["rules"].insert(3, {**made["rules"][2], "id": "thinner", "when": thinner})
    await members.world.publish(made | {"effective_from": "2021-01-01"})

    def work() -> None:
        shell = Shell(members)
        found = shell.run("wren", "proof", "--pairs")
        told = json.loads(shell.run("wren", "proof", "2027.1", "--json").stdout)
        assert f"No place had limits of its own at ledger revision {told['revision']}." in found.stdout
        shown = " ".join(found.stdout.split())
        for one in told["findings"]:
            assert all(f"The same for {name}: {values}." in shown for name, values in one["ranges"].items())
        assert any(one["ranges"] for one in told["findings"])
        assert (found.exit_code, told["sound"]) == (1, False)
        for finding in told["findings"]:
            assert f"2027.1: {finding['place']}: {finding['detail']}" in found.stdout
        assert "thinner (steel-heavy) decides before thin-steel (light-iron): metal: steel, " in found.stdout
        assert f"2027.1 has {len(told['findings'])} fault(s)." in found.stdout
        assert "2020.1 is proved" in shell.done("wren", "proof", "2020.1")

    await members.apart(work)


async def test_the_order_of_rules_is_shown(members: Members, tmp_path: Path) -> None:
    """The verdict counts the pairs whose order decides; `--pairs` lists each with a part, and a new one is a
    note without it."""

    def work() -> None:
        shell, file = Shell(members), tmp_path / "next.json"
        made = small_rulebook(version="2027.1", effective_from="2027-01-01", summary="The second.")
        thinner = {"metal": "steel", "thickness": {"below": "1 mm"}}
        made["rules"].insert(3, {**made["rules"][2], "id": "thinner", "when": thinner})
        file.write_text(json.dumps(made))
        shell.done("sedge", "drafts", "new", str(file), "--base", "2020.1", *WHY)
        told, listed = (shell.done("rail", "drafts", "check", "d-1", *more) for more in ((), ("--pairs",)))
        assert told.endswith("The order of its rules decides in 1 pairs (--pairs).\n")
        assert "Note: Rule thinner (steel-heavy) decides before thin-steel (light-iron), of a part" in told
        pair = "\nthinner (steel-heavy) decides before thin-steel (light-iron): metal: steel, "
        assert (pair in told, pair in listed) == (False, True)
        assert listed.endswith("The order of its rules decides in 1 pairs.\n")

    await members.apart(work)


async def test_a_version_that_a_later_one_ends(members: Members) -> None:
    """The check says what is gone when; the approval is refused with the option that says that this is meant,
    and taken with it."""
    await members.world.publish(small_rulebook(version="2028.1", effective_from="2028-01-01"))

    def work() -> None:
        shell = Shell(members)
        shell.done("sedge", "drafts", "new", "--from", "2020.1", *NEXT, *WHY)
        checked = shell.done("sedge", "drafts", "check", "d-1")
        assert "d-1: It ends on 2028-01-01: version 2028.1, which is published already" in checked
        submitted = shell.done("sedge", "drafts", "submit", "d-1", *WHY)
        refused = shell.run("rail", "drafts", "approve", "d-1", "--at", "2", *WHY)
        assert refused.exit_code == 1
        for told in (checked, submitted, refused.stderr):
            assert "says that this is meant: --ended-by 2028.1." in told
        approved = shell.done("rail", "drafts", "approve", "d-1", "--at", "2", "--ended-by", "2028.1", *WHY)
        assert "d-1 is published: version 2027.1" in approved

    await members.apart(work)


async def test_moves_that_are_told_together(members: Members, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the service tells in one sentence takes one here, with the smallest part, and no line a grade."""
    monkeypatch.setattr(comparison_together, "MOST_APART", 1)
    made = small_rulebook(version="2027.1", effective_from="2027-01-01")
    flat = {"id": "flat", "because": "-", "source": "-", "when": {"thickness": {"below": "5 mm"}}}
    made["impossible"].append(flat)
    made["examples"] = [example for example in made["examples"] if "thickness" not in example["part"]]
    await members.world.publish(made)

    def work() -> None:
        found = members.client("wren").rulebooks.compare("2027.1")
        (group,) = found.together
        assert len(group.moves) == len(found.moves) > 1
        assert group.part in [way.part for place in group.moves for way in found.moves[place].ways]
        assert group.says in found.summary
        told = Shell(members).done("wren", "compare", "2020.1", "2027.1")
        assert f"{group.says} (--json shows all). The smallest part:\n  {in_words(group.part)}\n" in told
        assert told.count(group.says) == 1
        assert "-> cannot be" not in told

    await members.apart(work)


async def test_what_scripts_read_and_what_is_refused(members: Members, tmp_path: Path) -> None:
    """--json prints what the service answers; an unsound draft ends the check with 1 and each fault."""

    def work() -> None:
        shell = Shell(members)
        shell.done("sedge", "drafts", "new", "--from", "2020.1", "--version", "2027.1", *WHY)
        found = shell.run("sedge", "drafts", "check", "d-1")
        assert found.exit_code == 1
        assert "d-1: effective_from: It would be in force from 2020-01-01" in found.stdout
        assert "d-1: summary: It says what 2020.1 says of itself" in found.stdout
        assert found.stdout.endswith("d-1 has 2 fault(s).\n")
        assert (
            "Notes, none of which keeps it from being published:\nNote: Its title is 2020.1's, word for word"
            in found.stdout
        )
        told = json.loads(shell.run("sedge", "drafts", "check", "d-1", "--json").stdout)
        assert [fault["pointer"] for fault in told["faults"]] == ["#/effective_from", "#/summary"]
        assert [
            each["id"] for each in json.loads(shell.done("sedge", "drafts", "list", "--json"))["drafts"]
        ] == ["d-1"]
        assert "There are no such drafts" in shell.done("sedge", "drafts", "list", "--state", "published")
        assert "version" in shell.done("sedge", "drafts", "show", "d-1", "--step", "1")
        assert json.loads(shell.done("sedge", "compare", "2020.1", "d-1", "--json"))["moves"] == []
        document = shell.done("sedge", "drafts", "show", "d-1", "--yaml").replace("2020-01-01", "2027-01-01")
        (tmp_path / "own.yaml").write_text(document)
        shell.done("sedge", "drafts", "new", str(tmp_path / "own.yaml"), *WHY)
        for told in (
            shell.run("sedge", "drafts", "check", "d-2").stdout,
            shell.run("sedge", "drafts", "submit", "d-2", *WHY).stderr,
        ):
            assert "edit it with --base 2020.1." in told
        shell.done("sedge", "drafts", "withdraw", "d-2", *WHY)
        assert shell.run("sedge", "drafts", "new", *WHY).exit_code == 2
        assert shell.run("wren", "drafts", "list").exit_code == 1
        assert shell.run("sedge", "drafts", "withdraw", "d-1", "--at", "7", *WHY).exit_code == 2
        assert "d-1 is withdrawn" in shell.done("sedge", "drafts", "withdraw", "d-1", "--at", "1", *WHY)

    await members.apart(work)


def checked(fake: FakeGradewright, *lines: object) -> None:
    """Sets what a check answers, line by line."""
    body = b"".join(json.dumps(line).encode() + b"\n" for line in lines)
    fake.answer("POST", "/v1/rulebook-drafts/d-1/check", body, headers=JSONL)


SOUND = {"id": "d-1", "step": 1, "sha256": "0" * 64, "on": "2026-05-04", "sound": True, "proved": True}


async def test_how_far_it_is_is_told(fake: FakeGradewright) -> None:
    """Both clients hand on what the service tells while it goes on, and give what its last line has."""
    step = {"what": "rules", "done": 3, "of": 9}
    checked(fake, step, {"check": SOUND})
    heard: list[tuple[str, int, int]] = []
    with fake.client() as client:
        found = client.drafts.check("d-1", progress=lambda *told: heard.append(told))
    async with fake.async_client() as other:
        assert await other.drafts.check("d-1", progress=lambda *told: heard.append(told)) == found
    assert (found.sound, heard) == (True, [("rules", 3, 9)] * 2)
    assert json.loads(found.raw) == SOUND
    assert fake.requests[0].headers["accept"].startswith("application/jsonl")


def test_what_breaks_under_way_is_its_error(fake: FakeGradewright, run: Run) -> None:
    """A problem in the last line is raised as if it had come at once; an end without one is told as that."""
    problem = {
        "type": "/problems/unavailable",
        "title": "Unavailable",
        "status": 503,
        "detail": "Come again.",
    }
    checked(fake, {"what": "rules", "done": 3, "of": 9}, {"problem": problem})
    with fake.client() as client, pytest.raises(gw.ServerError, match="Come again"):
        client.drafts.check("d-1", progress=lambda *told: None)
    assert "Come again." in run("drafts", "check", "d-1").stderr
    checked(fake, {"what": "rules", "done": 3, "of": 9})
    with fake.client() as client, pytest.raises(gw.UnexpectedAnswer, match="last line"):
        client.drafts.check("d-1", progress=lambda *told: None)
