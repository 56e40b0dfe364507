"""What the README shows of drafts is what happens: its commands are run, in their order."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import yaml

from gradewright.rulebooks import shipped
from tests.api import small_rulebook
from tests.served import ROOT, environment, publish, run

README = (ROOT / "README.md").read_text(encoding="utf-8")
EDITED = "sed -i 's/value: 6.35 mm/value: 6.345 mm/; s/summary: The first./summary: The second./' next.yaml\n"


def block() -> str:
    """The shell block in which a version is made."""
    [found] = [text for text in re.findall(r"```sh\n(.*?)```", README, re.DOTALL) if "drafts new" in text]
    return found


def test_the_draft_begins_from_the_newest_version() -> None:
    """What is shown begins from the newest version that ships, for a later day, and is compared with it: a
    draft from an earlier one is refused at its submission, as it lacks what was published since.
    """
    newest = shipped.files()[-1]
    [begins] = re.findall(r"^effective_from: (\S+)$", newest.read_text(encoding="utf-8"), re.MULTILINE)
    [(base, version, day)] = re.findall(r"--from (\S+) --version (\S+) --effective-from (\S+)", block())
    assert base == newest.stem
    assert re.findall(r"rulebooks compare (\S+) next.yaml", block()) == [base]
    assert version > base
    assert day > begins


def test_the_commands_publish_a_version(tmp_path: Path) -> None:
    """A draft is made, edited as a file, checked, submitted and approved; then there is one version more.

    On the small rulebook, which is proved at once, and for a day that stays to come.
    """
    url = f"sqlite:///{tmp_path / 'gradewright.sqlite'}"
    assert run(url, "migrate").returncode == 0
    publish(url, yaml.safe_dump(small_rulebook(), sort_keys=False))
    for who in ("sedge", "rail"):
        assert run(url, "keys", "create", "--handle", who, "--role", "maintainer").returncode == 0
    [newest, version, day] = re.findall(r"--from (\S+) --version (\S+) --effective-from (\S+)", block())[0]
    script = block().replace(newest, "2020.1").replace(version, "2999.9").replace(day, "2999-09-01")
    edit = script.index("gradewright drafts edit")
    ours = f'set -e; gradewright() {{ {sys.executable} -m gradewright.cli "$@"; }}\n'
    done = subprocess.run(
        ["bash", "-c", ours + script[:edit] + EDITED + script[edit:]],
        cwd=tmp_path, env=environment(url), capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert 'limit heavy_steel_thickness, value: "6.35 mm" -> "6.345 mm"' in done.stdout
    assert "Light iron -> Heavy steel" in done.stdout
    assert "d-1 is sound, and proved." in done.stdout
    assert "d-1 is published: version 2999.9, from 2999-09-01 on." in done.stdout.splitlines()
    listed = run(url, "rulebooks", "list", "--json")
    told = [(v["version"], v["draft"], v["approved_by"]) for v in json.loads(listed.stdout)["rulebooks"]]
    assert told == [("2020.1", None, None), ("2999.9", "d-1", "rail")]
    assert re.search(r"2999\.9 .* to come +d-1 +rail ", run(url, "rulebooks", "list").stdout)
    assert run(url, "verify").returncode == 0
