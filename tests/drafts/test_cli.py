"""`gradewright drafts`: what the interface does, on the database itself, by the maintainers that it has."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer
import yaml
from typer.testing import CliRunner, Result

from gradewright.accounts import cli as accounts_cli
from gradewright.drafts import rulebooks_cli
from gradewright.drafts.cli import app
from gradewright.drafts.told import flaw
from tests.api import small_rulebook
from tests.conftest import KINDS
from tests.served import publish

NEXT = ("--version", "2999.1", "--effective-from", "2999-01-01", "--summary", "The second.")
BY_SEDGE = ("--as", "sedge", "--why", "6.345 mm since June")
BY_RAIL = ("--as", "rail", "--why", "looked at it")


class Shell:
    """The operator's command line over one database, in this process, and a folder with a file."""

    def __init__(self, url: str, folder: Path) -> None:
        self.url, self.folder = url, folder
        self._runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})

    def run(self, *words: str, app: typer.Typer = app) -> Result:
        """A command on drafts, however it ends, unless by an error of ours."""
        found = self._runner.invoke(app, list(words))
        if found.exception is not None and not isinstance(found.exception, SystemExit):
            raise found.exception
        return found

    def done(self, *words: str, app: typer.Typer = app) -> str:
        """What a command that is expected to succeed has printed."""
        found = self.run(*words, app=app)
        assert found.exit_code == 0, found.output
        return found.stdout

    def refused(self, *words: str) -> str:
        """What a command that is expected to be refused has told."""
        found = self.run(*words)
        assert (found.exit_code, found.stdout) == (2, ""), found.output
        return found.stderr

    def file(self, text: str) -> str:
        """The path of a file with a text."""
        path = self.folder / "next.yaml"
        path.write_text(text, encoding="utf-8")
        return str(path)


@pytest.fixture(params=KINDS)
def shell(request: pytest.FixtureRequest, make_url: Callable[..., str], tmp_path: Path) -> Shell:
    """A database of each kind with the small rulebook, two maintainers and a member."""
    made = Shell(make_url(request.param), tmp_path)
    publish(made.url, yaml.safe_dump(small_rulebook(), sort_keys=False))
    for handle, role in (("sedge", "maintainer"), ("rail", "maintainer"), ("wren", "member")):
        made.done("create", "--handle", handle, "--role", role, app=accounts_cli.app)
    return made


def test_a_version_from_a_draft_to_its_publication(shell: Shell) -> None:
    """Made, edited as a file, checked, submitted, approved by a second maintainer, and loaded for good."""
    made = shell.done("new", "--from", "2020.1", *NEXT, *BY_SEDGE)
    assert "d-1 is a draft, at step 1-" in made
    assert 'changed: version: "2020.1" -> "2999.1"' in made
    text = shell.done("show", "d-1", "--yaml")
    file = shell.file(text.replace("value: 6.35 mm", "value: 6.345 mm"))
    edited = shell.done("edit", file, *BY_SEDGE)
    assert 'limit heavy_steel_thickness, value: "6.35 mm" -> "6.345 mm"' in edited
    assert "To go on in this file: --at 2" in edited
    file = shell.file(text.replace("value: 6.35 mm", "value: 6.344 mm"))
    assert "To go on in this file: --at 3" in shell.done("edit", file, "--at", "2", *BY_SEDGE)
    assert "d-1 is sound, and proved" in shell.done("check", "d-1")
    submitted = shell.done("submit", "d-1", *BY_SEDGE)
    assert "d-1 is submitted, at step 4-" in submitted
    assert "in this file" not in made + submitted
    approved = shell.done("approve", "d-1", "--at", "4", *BY_RAIL)
    assert "d-1 is published: version 2999.1, from 2999-01-01 on." in approved
    assert "2999.1" in shell.done("list", app=rulebooks_cli.app)
    shown = shell.done("show", "d-1")
    assert "d-1 (published, to come), version 2999.1 from 2999-01-01 on: A small rulebook" in shown
    for word in ("sedge", "rail", "made", "edited", "submitted", "approved", "looked at it"):
        assert word in shown
    assert "6.345 mm" in shell.done("show", "d-1", "--step", "2")
    assert "6.344 mm" in shell.done("show", "d-1", "--step", "3")


def test_what_scripts_read(shell: Shell) -> None:
    """`--json` prints what the interface answers: drafts, a whole one, a step, what a check finds."""
    shell.done("new", "--from", "2020.1", *NEXT, *BY_SEDGE)

    def read(*words: str) -> Any:
        return json.loads(shell.done(*words, "--json"))

    assert [draft["id"] for draft in read("list")["drafts"]] == ["d-1"]
    assert read("list", "--state", "withdrawn")["drafts"] == []
    assert read("show", "d-1")["document"]["version"] == "2999.1"
    assert [change["pointer"] for change in read("show", "d-1", "--step", "1")["changes"]] == [
        "#/version", "#/effective_from", "#/summary",
    ]  # fmt: skip
    assert read("check", "d-1")["sound"] is True
    assert "d-1" in shell.done("list", "--state", "draft")
    assert "There are no such drafts" in shell.done("list", "--state", "published")


def test_notes_of_a_check(shell: Shell) -> None:
    """They are said to be no faults; the verdict on a draft is the last line, on a file the first."""
    document = small_rulebook(version="2999.1", effective_from="2999-01-01", summary="The second.")
    document["examples"].append({**document["examples"][0], "note": "once more"})
    file = shell.file(yaml.safe_dump(document, sort_keys=False))
    note = "is of the same part as 1."
    verdict, told = shell.done("check", file, app=rulebooks_cli.app).splitlines()
    assert verdict.startswith("next.yaml: no fault found, and not proved: gradewright rulebooks prove. ")
    assert told.startswith("next.yaml: note, and no fault: Example ")
    assert told.endswith(note)
    shell.done("new", file, "--base", "2020.1", *BY_SEDGE)
    *told, verdict = shell.done("check", "d-1").splitlines()
    assert verdict.startswith("d-1 is sound, and proved.")
    assert told[0] == "Notes, none of which keeps it from being published:"
    assert any(line.endswith(note) for line in told)


def test_a_version_that_was_never_in_force(shell: Shell) -> None:
    """One that another replaces on its own first day is listed as that, and with no last day."""
    for version in ("2999.1", "2999.2"):
        publish(shell.url, yaml.safe_dump(small_rulebook(version=version, effective_from="2999-01-01")))
    lines = [" ".join(line.split()) for line in shell.done("list", app=rulebooks_cli.app).splitlines()]
    assert any(line.startswith("2999.1 2999-01-01 never in force (loaded)") for line in lines)
    assert any(line.startswith("2999.2 2999-01-01 to come (loaded)") for line in lines)
    sooner = small_rulebook(version="2999.3", effective_from="2998-01-01", instead_of=["2999.2"])
    publish(shell.url, yaml.safe_dump(sooner))
    listed = " ".join(shell.done("list", app=rulebooks_cli.app).split())
    assert "2999.3 2998-01-01 2998-12-31 to come (loaded)" in listed
    assert "2999.2 2999-01-01 never: 2999.3 instead (loaded)" in listed


def test_a_version_that_a_later_one_ends(shell: Shell) -> None:
    """Check and submission say what is gone when; the approval is refused with the option that says that this
    is meant, and taken with it."""
    publish(shell.url, yaml.safe_dump(small_rulebook(version="2999.2", effective_from="2999-06-01")))
    shell.done("new", "--from", "2020.1", *NEXT, *BY_SEDGE)
    text = shell.done("show", "d-1", "--yaml").replace("value: 6.35 mm", "value: 6.345 mm")
    shell.done("edit", shell.file(text), *BY_SEDGE)
    says = "It ends on 2999-06-01: version 2999.2, which is published already, is in force from that day on."
    gone = "is gone then: limit heavy_steel_thickness, value."
    checked = shell.done("check", "d-1")
    submitted = shell.done("submit", "d-1", *BY_SEDGE)
    refused = shell.refused("approve", "d-1", "--at", "3", *BY_RAIL)
    for told in (checked, submitted, refused):
        assert says in told
        assert gone in told
        assert "says that this is meant: --ended-by 2999.2." in told
    assert "d-1 was not approved, and nothing was stored." in refused
    wrong = shell.refused("approve", "d-1", "--at", "3", "--ended-by", "2999.9", *BY_RAIL)
    assert "--ended-by names 2999.9, which is not what ends d-1." in wrong
    done = shell.done("approve", "d-1", "--at", "3", "--ended-by", "2999.2", *BY_RAIL)
    assert "d-1 is published: version 2999.1" in done


def test_what_others_did_is_not_written_over(shell: Shell) -> None:
    """A file that was made from an earlier step is refused, with what was done since by whom."""
    shell.done("new", "--from", "2020.1", *NEXT, *BY_SEDGE)
    text = shell.done("show", "d-1", "--yaml")
    shell.done("edit", shell.file(text.replace("A small rulebook", "Rail's rulebook")), *BY_RAIL)
    refused = shell.refused("edit", shell.file(text.replace("A small rulebook", "Mine")), *BY_SEDGE)
    assert "d-1: rail edited it at" in refused
    assert "looked at it" in refused
    assert "Rail's rulebook" in shell.done("show", "d-1", "--yaml")
    nameless = shell.file(text.partition("\n")[2])
    assert "does not say in its first line" in shell.refused("edit", nameless, *BY_SEDGE)
    assert "gradewright drafts show d-1 --yaml" in refused
    again = shell.done("edit", nameless, "--draft", "d-1", "--at", "2", *BY_SEDGE)
    assert "is a draft, at step 3-" in again
    assert "no step was taken" in shell.done("edit", nameless, "--draft", "d-1", "--at", "3", *BY_SEDGE)


def test_a_draft_of_a_file(shell: Shell) -> None:
    """A YAML file becomes a draft on a base; one that cannot be read is told by its lines."""
    document = small_rulebook(version="2999.1", effective_from="2999-01-01", summary="The second.")
    file = shell.file(yaml.safe_dump(document, sort_keys=False))
    shell.done("new", file, "--base", "2020.1", *BY_SEDGE)
    assert "sound" in shell.done("check", "d-1")
    shell.done("new", "--draft", "d-1", *BY_RAIL)
    assert "Made from d-1, step 1" in shell.done("show", "d-2")
    bad = shell.run("new", shell.file("version: 1\nversion: 2\n"), *BY_SEDGE)
    assert (bad.exit_code, bad.stderr.splitlines()[0].startswith("next.yaml:2: ")) == (2, True)
    assert "one of: --from VERSION" in shell.refused("new", *BY_SEDGE)


def test_faults_are_told_one_by_one(shell: Shell) -> None:
    """An unsound draft is not submitted: `check` ends with 1, `submit` with 2, each tells every fault."""
    shell.done("new", "--from", "2020.1", "--version", "2999.1", "--summary", "The second.", *BY_SEDGE)
    found = shell.run("check", "d-1")
    assert found.exit_code == 1
    assert "d-1: effective_from: It would be in force from 2020-01-01" in found.stdout
    sent = shell.run("submit", "d-1", *BY_SEDGE)
    assert sent.exit_code == 2
    assert found.stdout.splitlines()[:1] == sent.stderr.splitlines()[:1]
    assert sent.stderr.splitlines()[-1] == "gradewright: d-1 has 1 fault(s). Nothing was stored."


def test_submit_tells_what_check_tells(shell: Shell) -> None:
    """The same faults with the same lines and places, and with the option that mends what one can."""
    document = small_rulebook(version="2999.1", effective_from="2999-01-01", summary="The second.")
    shell.done("new", shell.file(yaml.safe_dump(document, sort_keys=False)), *BY_SEDGE)
    *checked, _verdict = shell.run("check", "d-1").stdout.splitlines()
    sent = shell.run("submit", "d-1", *BY_SEDGE).stderr.splitlines()
    assert sent[:-1] == [line for line in checked if not line.startswith("Note")]
    assert sent[0].startswith("d-1:2: effective_from: It would take the place of version 2020.1")
    assert sent[0].endswith("edit it with --base 2020.1.")


def test_what_cannot_be_read_may_have_more_faults(shell: Shell) -> None:
    """A draft with a value that is none is told with its day, and that the proof is still to come."""
    document = small_rulebook(version="2020.2", effective_from="2020-02-01", summary="The second.")
    document["limits"]["heavy_steel_thickness"]["value"] = "banana"
    shell.done("new", shell.file(yaml.safe_dump(document, sort_keys=False)), "--base", "2020.1", *BY_SEDGE)
    *told, verdict = shell.run("check", "d-1").stdout.splitlines()
    assert any("banana" in line for line in told)
    assert any("It would be in force from 2020-02-01" in line for line in told)
    assert verdict.endswith(
        "It was not proved yet: that begins once it can be read and its rules have no "
        "fault. It may find more."
    )


def test_the_order_of_rules_is_shown(shell: Shell) -> None:
    """The verdict counts the pairs whose order decides; `--pairs` lists each with a part, and a new one is a
    note without it."""
    document = small_rulebook(version="2999.1", effective_from="2999-01-01", summary="The second.")
    thinner = {"metal": "steel", "thickness": {"below": "1 mm"}}
    document["rules"].insert(3, {**document["rules"][2], "id": "thinner", "when": thinner})
    shell.done("new", shell.file(yaml.safe_dump(document, sort_keys=False)), "--base", "2020.1", *BY_SEDGE)
    told, listed = shell.done("check", "d-1"), shell.done("check", "d-1", "--pairs")
    assert told.endswith("The order of its rules decides in 1 pairs (--pairs).\n")
    assert (
        "Note: Rule thinner (steel-heavy) decides before thin-steel (light-iron), of a part such as {" in told
    )
    pair = "\nthinner (steel-heavy) decides before thin-steel (light-iron):\n  {metal: steel, thickness: "
    assert (pair in told, pair in listed) == (False, True)
    assert listed.endswith("The order of its rules decides in 1 pairs.\n")


def test_who_may(shell: Shell) -> None:
    """A member, one whom nobody knows, and the one who has written it are refused, each in one line."""
    shell.done("new", "--from", "2020.1", *NEXT, *BY_SEDGE)
    why = ("--why", "x")
    assert "wren is a member" in shell.refused("withdraw", "d-1", "--as", "wren", *why)
    assert "no account 'nobody'" in shell.refused("withdraw", "d-1", "--as", "nobody", *why)
    shell.done("submit", "d-1", *BY_SEDGE)
    own = shell.refused("approve", "d-1", "--at", "2", *BY_SEDGE)
    assert "Ask another maintainer" in own
    assert "stands at 2-" in shell.refused("approve", "d-1", "--at", "1", *BY_RAIL)
    assert "d-1 is a draft, at step 3-" in shell.done("refuse", "d-1", *BY_RAIL)
    assert "d-1 is withdrawn" in shell.done("withdraw", "d-1", *BY_RAIL)
    assert "d-9" in shell.refused("show", "d-9")
    assert "--why" in shell.refused("withdraw", "d-1", "--as", "rail", "--why", " ")


@pytest.mark.parametrize(
    ("detail", "place", "line"),
    [
        ("example 4 (metal: steel): heavy steel is expected", "example 4", "example 4 (metal: steel): heavy"),
        ("rule thin: no part can have form: bar", "rule thin, when form", "rule thin: no part"),
        (
            "At Low Quay (a 8 mm), rule thin: it",
            "rule thin, when form",
            "At Low Quay (a 8 mm), rule thin: it",
        ),
        ("Write a later day.", "effective_from", "effective_from: Write a later day."),
    ],
)
def test_a_fault_names_what_it_is_about_once(detail: str, place: str, line: str) -> None:
    """Its place stands before it where it does not name that itself."""
    assert flaw("d-1", detail, place, 12).startswith(f"d-1:12: {line}")
    assert flaw("d-1", detail, place, None).startswith(f"d-1: {line}")
