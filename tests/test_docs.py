"""What the README shows is what happens: its examples are run in its order, word for word."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from gradewright.benchmarks.controller import MOST_BYTES as BENCHMARK_BYTES
from gradewright.drafts.steps import MOST_BYTES as DRAFT_BYTES
from gradewright.prices.list_controller import MOST_BYTES as LIST_BYTES
from tests import forked
from tests.served import serving

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", README, re.DOTALL)
PROGRAMS = {"gradewright": "gradewright.cli", "gradewright-client": "gradewright_sdk.cli"}
TODAY = "$(date +%F)"  # as a shell is asked for it
SET_UP = "pip install"  # CI runs the one that installs the tests before it gets here


def blocks(kind: str) -> list[str]:
    return [text for found, text in BLOCKS if found == kind]


def commands(program: str) -> list[str]:
    """Every line of a shell block that begins with a program, without its comment."""
    lines = [line.split("   #")[0].strip() for text in blocks("sh") for line in text.splitlines()]
    return [line for line in lines if line.split(" ")[0] == program and SET_UP not in line]


def run(line: str, folder: Path, environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """A line of a shell block, run with this interpreter, today."""
    program, *arguments = shlex.split(line.replace(TODAY, datetime.now(UTC).date().isoformat()))
    return forked.run(PROGRAMS[program], arguments, cwd=folder, env=environment)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new user's folder, with the README's file of parts in it."""
    path = tmp_path_factory.mktemp("user")
    (csv,) = blocks("csv")
    (path / "parts.csv").write_text(csv, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def environment(folder: Path) -> Iterator[dict[str, str]]:
    """The demo's district, served, and a key to it with which all can be done that is shown."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith("GRADEWRIGHT_")}
    made = run("gradewright demo --once --database district.sqlite", folder, plain)
    assert made.returncode == 0, made.stderr
    url = f"sqlite:///{folder / 'district.sqlite'}"
    on_district = plain | {"GRADEWRIGHT_DATABASE_URL": url}
    key = run("gradewright keys create --handle reader --role maintainer", folder, on_district)
    found = re.search(r"gw_[A-Za-z0-9_-]+", key.stdout)
    assert found, key.stderr
    with serving(url) as (port, _):
        yield plain | {"GRADEWRIGHT_URL": f"http://127.0.0.1:{port}", "GRADEWRIGHT_KEY": found.group()}


def test_the_readme_has_examples_of_every_kind() -> None:
    """None of the kinds that are run below has vanished from the README."""
    assert len(blocks("python")) == 3
    assert len(commands("gradewright-client")) >= 5
    assert len(commands("gradewright")) >= 6


def test_python_example_runs(folder: Path, environment: dict[str, str]) -> None:
    """The SDK example, pasted into a file, values its parts and repeats the answer byte for byte."""
    program = blocks("python")[0].replace("http://127.0.0.1:8000", environment["GRADEWRIGHT_URL"])
    (folder / "example.py").write_text(program, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "example.py"],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    *lines, total = done.stdout.splitlines()
    assert [line.split(" -> ")[1].split(" ")[0] for line in lines] == [
        "motors-copper",
        "light-iron",
        "light-iron",
    ]
    assert re.fullmatch(r"\d+\.\d\d USD complete", total)


def test_following_example_runs(folder: Path, environment: dict[str, str]) -> None:
    """The example of an app that follows prints the demo's prices in order, and does not end."""
    program = blocks("python")[1].replace("http://127.0.0.1:8000", environment["GRADEWRIGHT_URL"])
    (folder / "following.py").write_text(program, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, "following.py"], cwd=folder, env=environment, stdout=subprocess.PIPE, text=True
    ) as follower:
        assert follower.stdout is not None
        lines = [follower.stdout.readline() for _ in range(1_200)]
        assert follower.poll() is None
        follower.kill()
    shape = r"(\d+)\.(\d+) [a-z]+ said: [a-z-]+ pays -?[0-9.]+ USD per [a-z ]+ for [a-z0-9-]+\n"
    assert [line for line in lines if not re.fullmatch(shape, line)] == []
    places = [tuple(map(int, line.split()[0].split("."))) for line in lines]
    assert places == sorted(set(places))


def test_decision_example_runs(folder: Path, environment: dict[str, str]) -> None:
    """The example of a decision says its range, the grades that it leaves, and whether stripping pays."""
    program = blocks("python")[2].replace("http://127.0.0.1:8000", environment["GRADEWRIGHT_URL"])
    (folder / "deciding.py").write_text(program, encoding="utf-8")
    command = [sys.executable, "deciding.py"]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    share, grades, stripping = done.stdout.splitlines()
    assert re.fullmatch(r"Between [\d.]+ % and [\d.]+ % of the weight is copper, most likely 59.57 %.", share)
    assert grades == "It is Insulated copper wire, 50 %"
    assert re.search(r"USD (more|less)", stripping)


@pytest.mark.parametrize("line", commands("gradewright-client"))
def test_client_command_runs(line: str, folder: Path, environment: dict[str, str]) -> None:
    """A command of the client that the README shows does what it is there for."""
    done = run(line, folder, environment)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.strip()


def test_what_is_said_of_today_is_of_today(folder: Path, environment: dict[str, str]) -> None:
    """No example of the client names a day that is long gone by: what is posted and brought is of today, so
    that it counts, and a list that is uploaded is not older than the newest.
    """
    dated = [line for line in commands("gradewright-client") if re.search(r"\d{4}-\d\d-\d\d", line)]
    assert dated == []
    [post] = [line for line in commands("gradewright-client") if " post " in line]
    [listed] = [line for line in commands("gradewright-client") if " upload " in line]
    assert "--observed-on" not in post + listed
    before = datetime.now().astimezone().date()
    posted = json.loads(run(f"{post} --json", folder, environment).stdout)
    day = posted["observed_on"]
    assert before <= date.fromisoformat(day) <= datetime.now().astimezone().date()
    asked = f"gradewright-client history copper-no2 --yard low-quay --from {day} --to {day} --json"
    [point] = json.loads(run(asked, folder, environment).stdout)["points"]
    assert point["newest"] == day


def test_what_is_not_worth_finding_out(folder: Path, environment: dict[str, str]) -> None:
    """Of the part that the README calls not worth finding out about, that is what is told."""
    [line] = [line for line in commands("gradewright-client") if " grade assembly=" in line]
    assert "Not worth finding out which: it adds " in run(line, folder, environment).stdout


def test_the_file_of_parts_is_valued(folder: Path, environment: dict[str, str]) -> None:
    """The CSV example is graded as the README's program grades the same parts, and every line has a price."""
    done = run("gradewright-client value parts.csv --region XO-KEL --strict", folder, environment)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "INCOMPLETE" not in done.stdout


def test_operators_commands_run_in_order(tmp_path: Path) -> None:
    """The operator's block sets a service up from nothing; a member's commands make its first price list.

    `serve` runs on another port.
    """
    block = next(text for text in blocks("sh") if "gradewright migrate" in text)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("GRADEWRIGHT_")}
    for line in (line.split("   #")[0].strip() for line in block.splitlines()):
        if line.startswith("export "):
            name, value = line.removeprefix("export ").split("=", 1)
            environment[name] = value
        elif line.startswith("gradewright serve"):
            url = f"sqlite:///{tmp_path / 'gradewright.sqlite'}"
            with serving(url) as (port, _):
                environment["GRADEWRIGHT_URL"] = f"http://127.0.0.1:{port}"
                _first_price_list(tmp_path, environment)
        else:
            done = run(line, tmp_path, environment)
            assert done.returncode == 0, done.stderr
            if line.startswith("gradewright keys create"):
                environment["GRADEWRIGHT_KEY"] = done.stdout.strip()


def _first_price_list(folder: Path, environment: dict[str, str]) -> None:
    [post] = [line for line in commands("gradewright-client") if " post " in line]
    done = run(post, folder, environment)
    assert done.returncode == 0, done.stderr
    [prices] = [line for line in commands("gradewright-client") if " prices " in line]
    done = run(prices, folder, environment)
    assert done.returncode == 0, done.stderr
    assert re.search(r"Copper No\. 2.*3\.35", done.stdout), done.stdout


def test_a_postgresql_can_be_had_by_hand() -> None:
    """DEVELOPERS.md's commands start the packaged server, use it, and stop it; here in another folder."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    [block] = [text for text in re.findall(r"```sh\n(.*?)```", page, re.DOTALL) if "postgresql stop" in text]
    folder = Path(tempfile.mkdtemp(prefix="gw-"))  # short, as a socket's path must be
    folder.chmod(0o755)  # when run as root the server runs as another user
    script = block.replace("/tmp/gradewright-pg", str(folder / "data"))  # noqa: S108 - what the page says
    script = script.replace("gradewright serve --workers 2", "gradewright rulebooks list")
    script = script.replace("postgresql stop", "postgresql delete")
    ours = 'set -e; gradewright() { python -m gradewright.cli "$@"; }; '
    paths = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "-c", ours + script],
        env={**os.environ, "PATH": paths},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "2018.1 loaded" in done.stdout
    assert list(folder.iterdir()) == [], "it still runs"
    folder.rmdir()


def test_every_file_that_is_named_exists() -> None:
    """Links to files of the repository lead somewhere, in the README and in DEVELOPERS.md."""
    for page in ("README.md", "DEVELOPERS.md", "sdk/README.md", "deploy/README.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#:]+)\)", text):
            assert (ROOT / page).parent.joinpath(target).exists(), f"{page} names {target}"


def test_the_bodies_with_a_bound_of_their_own() -> None:
    """README tells every operation's bound that is not the setting's."""
    told = " ".join(README.split())
    for says, bound in (
        ("a whole list", LIST_BYTES),
        ("a draft of the rulebook", DRAFT_BYTES),
        ("a benchmark's values", BENCHMARK_BYTES),
    ):
        assert f"{says} {bound // 2**20} MiB" in told


USUAL = {"__init__", "models", "repository", "service", "schemas", "controller", "cli", "entries", "given"}
PART_OF_A_CONCEPT = ("_controller", "_schemas", "_repository", "_cli")


def test_every_module_is_named_where_to_look_for_it() -> None:
    """DEVELOPERS.md names each room in its map, and each module that is none of the usual somewhere."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    house = page.partition("## The house")[2].partition("Imports point one way")[0]
    service, sdk = ROOT / "service" / "gradewright", ROOT / "sdk" / "src" / "gradewright_sdk"
    rooms = {file.parent.name for top in (service, sdk) for file in top.rglob("*.py")}
    assert {room for room in rooms if f"{room}/" not in house} == set()
    named = set(re.findall(r"\w+", page))
    modules = {file.stem for file in service.rglob("*.py") if not file.stem.endswith(PART_OF_A_CONCEPT)}
    assert modules - USUAL - named == set(), "say in DEVELOPERS.md what they are for"
