"""`gradewright demo` as its user runs it: on a terminal, into a file, and where it cannot."""

from __future__ import annotations

import os
import pty
import re
import select
import shlex
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
from tests.demo.parts import INTENDED, treadmill
from typer.testing import CliRunner

from gradewright.demo import app
from gradewright.demo.database import PUBLISHED
from gradewright.demo.scenario import REGION
from gradewright.rulebooks.document import read_yaml

ROOT = Path(__file__).resolve().parents[2]
DEMO = [sys.executable, "-m", "gradewright.cli", "demo"]
CLIENT = [sys.executable, "-m", "gradewright_sdk.cli"]
STYLE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\r")


def environment(**more: str) -> dict[str, str]:
    """The environment of a command run from this checkout."""
    paths = f"{ROOT / 'service'}:{ROOT / 'sdk' / 'src'}"
    kept = {name: value for name, value in os.environ.items() if not name.startswith("GRADEWRIGHT_")}
    return {**kept, "PYTHONPATH": paths, "TERM": "xterm", "COLUMNS": "120", **more}


@dataclass
class Terminal:
    """A demo that runs on a terminal of its own, and what it has shown there so far."""

    process: subprocess.Popen[bytes]
    end: int
    shown: str = field(default="")

    def read_until(self, words: str, within: float) -> None:
        """Reads what is shown until `words` are among it."""
        until = time.monotonic() + within
        while words not in self.shown:
            ready, _, _ = select.select([self.end], [], [], max(0, until - time.monotonic()))
            assert ready, f"{words!r} was not shown within {within} s:\n{self.shown}"
            try:
                told = os.read(self.end, 65536)
            except OSError:  # how Linux says that nobody writes to a terminal any more
                told = b""
            assert told, f"it ended without showing {words!r}:\n{self.shown}"
            self.shown += STYLE.sub("", told.decode())

    @property
    def url(self) -> str:
        """The address of the service, as the commands to try have it."""
        return found(r"export GRADEWRIGHT_URL=(\S+)", self.shown)


def found(pattern: str, text: str) -> str:
    """What the first group of a pattern matches in a text that is expected to match."""
    match = re.search(pattern, text)
    assert match, f"{pattern} is not in:\n{text}"
    return match[1]


def run(*command: str, folder: Path | None = None, **more: str) -> subprocess.CompletedProcess[str]:
    """Runs a command to its end, with nobody watching."""
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        cwd=folder,
        env=environment(**more),
        timeout=60,
        check=False,
    )


@pytest.fixture(scope="module")
def terminal(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Terminal]:
    """A demo on a terminal, that has said all and keeps its service running."""
    folder = tmp_path_factory.mktemp("demo")
    ours, its = pty.openpty()
    process = subprocess.Popen(
        [*DEMO, "--database", str(folder / "bay.sqlite")],
        stdin=its,
        stdout=its,
        stderr=its,
        env=environment(),
        cwd=folder,
        start_new_session=True,
    )
    os.close(its)
    running = Terminal(process, ours)
    try:
        running.read_until("until you press Ctrl-C", within=60)
        yield running
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)
        os.close(ours)


def test_it_shows_what_was_posted_and_refused(terminal: Terminal) -> None:
    """The reader sees that all is invented, how much was posted, and what the service says to a bare ton."""
    shown = " ".join(terminal.shown.split())
    assert "all names and figures are made up" in shown
    assert "8 members have posted 2,781 prices in 272 visits since" in shown
    assert "3 yards here and 1 in the next district" in shown
    assert "per 'ton'. The service said: 'ton' does not say which ton" in shown
    assert "Careless: 4 times siskin" in shown


def test_the_totals_are_the_services(terminal: Terminal) -> None:
    """The total and the digest that are printed are those that the service answers to the same parts."""
    on = found(rf"\n{REGION}, (\d{{4}}-\d\d-\d\d), prices in USD", terminal.shown)
    parts = treadmill(read_yaml(PUBLISHED / "2018.1.yaml"))
    asked = {"region": REGION, "on": on, "parts": parts}
    answer = httpx.post(f"{terminal.url}/v1/valuations", json=asked, timeout=10)
    assert answer.status_code == 200, answer.text
    valuation = answer.json()
    totals = valuation["totals"]
    spread = f"{totals['low']} – {totals['likely']} – {totals['high']} USD"
    assert f"Total  {spread}  (18 of 20 parts counted)" in terminal.shown
    assert found(r"SHA-256 ([0-9a-f]{64})", terminal.shown) == valuation["pins"]["sha256"]
    assert len(valuation["parts"]) == len(INTENDED)


def test_it_says_what_a_seller_wants_to_know(terminal: Terminal) -> None:
    """What is missing, what would raise it, the cautions and what to try next each have their place; and what
    a treadmill pays whole and apart is told before it is opened.
    """
    raised = (
        "What would raise it, by the rulebook's minutes",
        "What taking apart would pay, by members' minutes",
    )
    for title in ("Piles", "Missing", *raised, "Cautions", "What to try next"):
        assert f"\n{title}\n" in terminal.shown.replace(" \n", "\n"), title
    assert "INCOMPLETE" in terminal.shown
    assert "Back out the steel screws" in terminal.shown
    pointed = r"take the drive motor apart: \+ [0-9.]+ for [0-9.]+ minutes, up to [0-9.]+ an hour"
    assert re.search(pointed, " ".join(terminal.shown.split()))
    shown = terminal.shown.rpartition("whole or apart")[2]
    pays = r"whole it pays [0-9.]+, apart [0-9.]+ to [0-9.]+ USD at likely prices, for 50 to 80 minutes"
    assert re.search(pays, " ".join(shown.split()))


def test_the_commands_to_try_do_what_they_say(terminal: Terminal) -> None:
    """Each command that is printed for copying works as it stands, but the one that asks questions."""
    printed = terminal.shown.partition("Commands to try")[2].splitlines()
    lines = [
        shlex.split(line) for line in printed if line.startswith(("  cd ", "  export ", "  gradewright-"))
    ]
    [folder] = [words[1] for words in lines if words[0] == "cd"]
    exported = dict(words[1].split("=", 1) for words in lines if words[0] == "export")
    commands = [words[1:] for words in lines if words[0] == "gradewright-client"]
    names = [words[0] for words in commands]
    assert names == [
        "prices", "prices", "history", "value", "value", "value", "compositions", "teardown", "teardown",
        "recovery", "haul", "grade", "post", "settle", "settle",
    ]  # fmt: skip
    [piped] = [line for line in printed if " | gradewright-client " in line]
    path = f"{Path(sys.prefix) / 'bin'}:/usr/bin:/bin"
    done = run("sh", "-c", piped, folder=Path(folder), **{**exported, "PATH": path})
    assert done.returncode == 0, done.stderr
    assert "20 lb" in done.stdout
    for words in commands:
        if words[0] != "grade":
            done = run(*CLIENT, *words, folder=Path(folder), **exported)
            assert done.returncode == 0, f"{words}: {done.stdout}{done.stderr}"
            assert done.stdout
            if words[0] == "value":  # Cinder Lane shows its own limit, nobody else has one
                told = "At Cinder Lane heavy steel begins at 3 mm" in done.stdout
                assert told is ("cinder-lane" in words), done.stdout


def test_the_commands_to_try_begin_with_where_they_are(terminal: Terminal) -> None:
    """Another terminal does not know the virtual environment yet: the first command makes it known."""
    assert sys.prefix != sys.base_prefix, "the tests are run in a virtual environment"
    first = found(r"Commands to try[^\n]*\n  # [^\n]*\n  ([^\n]+)\n", terminal.shown)
    told = run("sh", "-c", f"{first} && command -v gradewright-client", PATH="/usr/bin:/bin")
    assert told.stdout.strip() == str(Path(sys.prefix) / "bin" / "gradewright-client")


def test_ctrl_c_stops_the_service(terminal: Terminal) -> None:
    """The service answers until Ctrl-C; the demo then stops it, says how to have it again, and exits well."""
    assert httpx.get(f"{terminal.url}/readyz", timeout=10).status_code == 200
    os.write(terminal.end, b"\x03")
    terminal.process.send_signal(
        signal.SIGINT
    )  # the terminal is not its controlling one: no signal of its own
    terminal.read_until("gradewright serve --port", within=20)
    assert terminal.process.wait(20) == 0
    assert "The service has stopped" in terminal.shown
    with pytest.raises(httpx.TransportError):
        httpx.get(f"{terminal.url}/readyz", timeout=10)


def test_into_a_file_it_ends_by_itself(tmp_path: Path) -> None:
    """Where nobody watches, the demo stops its service at the end, leaves the database, and exits with 0."""
    database = tmp_path / "new folder" / "bay.sqlite"
    done = run(*DEMO, "--database", str(database))
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stderr == ""
    assert "The service has stopped" in done.stdout
    assert "\x1b" not in done.stdout
    assert database.exists()
    with pytest.raises(httpx.TransportError):
        httpx.get(found(r"export GRADEWRIGHT_URL=(\S+)", done.stdout), timeout=10)


def test_it_overwrites_nothing(tmp_path: Path) -> None:
    """A file that is there already is refused in one line that says what to do, and stays as it was."""
    there = tmp_path / "mine.sqlite"
    there.write_text("mine", encoding="utf-8")
    done = run(*DEMO, "--database", str(there))
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith(f"gradewright: {there} is there already")
    assert "--database" in done.stderr
    assert done.stderr.count("\n") == 1
    assert there.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [there]


def test_a_port_in_use_is_refused_at_once(tmp_path: Path) -> None:
    """Where the port is taken, the demo says so in one line, and has made nothing."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        words = ["--database", str(tmp_path / "bay.sqlite"), "--port", str(taken.getsockname()[1])]
        done = run(*DEMO, *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("gradewright: Cannot listen on")
    assert done.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_service_that_does_not_start_leaves_nothing_half_made(tmp_path: Path) -> None:
    """The demo repeats the service's own word about why, and can then be run again as it was."""
    words = ["--database", str(tmp_path / "bay.sqlite")]
    done = run(*DEMO, *words, GRADEWRIGHT_POOL_SIZE="none")
    assert done.returncode == 2
    assert "The service did not start: gradewright: GRADEWRIGHT_POOL_SIZE is 'none'" in done.stderr
    assert "Traceback" not in done.stderr
    assert [file.name for file in tmp_path.iterdir()] == ["bay-service.log"]


def test_asked_to_end_it_takes_its_service_along(tmp_path: Path) -> None:
    """A demo that is told to end while it posts stops its service and removes what is half made."""
    log = tmp_path / "bay-service.log"
    words = [*DEMO, "--database", str(tmp_path / "bay.sqlite")]
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, env=environment())
    until = time.monotonic() + 30
    while not (log.exists() and "Started worker" in log.read_text(encoding="utf-8")):
        assert time.monotonic() < until, "the service did not start"
        time.sleep(0.02)
    process.terminate()
    assert process.wait(20) == 128 + signal.SIGTERM
    told = log.read_text(encoding="utf-8")
    assert "Granian shutdown completed" in told
    with pytest.raises(httpx.TransportError):
        httpx.get(f"{found('Listening at: (.*)', told)}/readyz", timeout=10)
    assert list(tmp_path.iterdir()) == [log]


def test_without_the_client_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where only the service is installed, one line says what to install, and nothing is made."""
    monkeypatch.setattr("gradewright.demo.command.find_spec", lambda name: None)
    monkeypatch.setattr("gradewright.demo.command.signal.signal", lambda *_: None)
    done = CliRunner().invoke(app, ["--database", str(tmp_path / "bay.sqlite")])
    assert (done.exit_code, done.stdout) == (2, "")
    assert "missing: httpx, gradewright_sdk" in done.stderr
    assert "pip install ./sdk '.[demo]'" in done.stderr
    assert list(tmp_path.iterdir()) == []
