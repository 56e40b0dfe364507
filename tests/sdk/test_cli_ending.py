"""How every command ends: without a service, cut off, in any terminal, and with its help."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import httpx
import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples

POST = ["post", "--yard", "low-quay", "--observed-on", "2026-05-03", "--evidence", "sign"]


def words(text: str) -> str:
    return " ".join(text.split())


COMMANDS = [
    ["value", "-", "--region", "XO-KEL"],
    ["grade", "metal=copper"],
    ["prices", "--region", "XO-KEL"],
    ["history", "copper-no2", "--region", "XO-KEL"],
    [*POST, "--price", "a 1 USD/lb"],
    ["regions"],
    ["yards"],
    ["grades"],
    ["attributes"],
]


@pytest.mark.parametrize("command", COMMANDS, ids=[command[0] for command in COMMANDS])
def test_stopped_service(fake: FakeGradewright, run: Run, command: list[str]) -> None:
    """With the service stopped every command ends with 4 and says where it looked and how to start one."""
    fake.lose("GET", "*")
    fake.lose("POST", "*")
    result = run(*command, input="name,weight,grade\na,1 kg,x\n")
    assert result.exit_code == 4
    assert "http://gradewright.test" in result.stderr
    assert "gradewright serve" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    "make",
    [
        lambda request: b"<html>Welcome</html>",
        lambda request: {"regions": [{}]},
    ],
)
def test_something_else_at_the_address(fake: FakeGradewright, run: Run, make: Any) -> None:
    """If something else answers at the address the command says so and ends with 4."""
    fake.answer("GET", "/v1/regions", make)
    result = run("regions")
    assert result.exit_code == 4
    assert "Unexpected answer" in result.stderr


def test_too_slow(fake: FakeGradewright, run: Run) -> None:
    """A service that is too slow is told with the deadline, and ends with 4."""

    def never(request: object) -> object:
        raise httpx.ReadTimeout("slow")

    fake.answer("GET", "/v1/regions", never)
    result = run("regions", "--timeout", "2")
    assert result.exit_code == 4
    assert "within 2 s" in result.stderr


def program(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command line as a program of its own, asking a real address."""
    return subprocess.run(
        [sys.executable, "-m", "gradewright_sdk.cli", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={**os.environ, **environment},
        stdin=subprocess.DEVNULL,
    )


def test_nobody_listens() -> None:
    """Against a port where nobody listens the program ends with 4 and one message, soon."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{free.getsockname()[1]}"
        done = program("regions", GRADEWRIGHT_URL=url)
    assert done.returncode == 4
    assert url in done.stderr
    assert "Traceback" not in done.stderr


def test_address_that_is_none() -> None:
    """An address that cannot be one is wrong usage."""
    done = program("regions", "--url", "gradewright")
    assert done.returncode == 2
    assert "is not the address of a service" in done.stderr


def test_terminal_without_unicode() -> None:
    """Where output cannot be UTF-8, nothing fails."""
    done = program("value", "--help", PYTHONIOENCODING="ascii", COLUMNS="80")
    assert done.returncode == 0
    assert "weight_each" in done.stdout


@pytest.mark.parametrize(
    "words", [["value", "--help"], ["regions"], ["regions", "--json"], ["yards"], ["attributes", "--json"]]
)
def test_output_that_nobody_reads(words: list[str], listening: str) -> None:
    """Output that is cut, as `| head` does, ends the program without a word and never with a code of its
    own.
    """
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "gradewright_sdk.cli", *words],
        stdout=write,
        stderr=subprocess.PIPE,
        check=False,
        timeout=60,
        env={**os.environ, "GRADEWRIGHT_URL": listening},
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (141, b"")


@pytest.fixture(scope="module")
def listening() -> Iterator[str]:
    """The address of a stand-in on a real socket."""
    fake = FakeGradewright()
    fake.answer("GET", "/v1/regions", {"regions": [samples.region(code=f"XO-{n}") for n in range(5000)]})
    fake.answer("GET", "/v1/yards", {"yards": []})
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook())

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            answer = fake.handle(httpx.Request("GET", f"http://a.test{self.path}"))
            self.send_response(answer.status_code)
            self.send_header("Content-Type", "application/json")
            self.end_headers()
            self.wfile.write(answer.content)

        def log_message(self, format: str, *args: object) -> None:
            """Says nothing: what the tests print is read by people."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


@pytest.mark.parametrize(
    "command",
    [
        *["value", "grade", "prices", "history", "post", "regions", "yards", "grades", "attributes"],
        *["withdraw", "confirm", "dispute", "decide", "correct", "held"],
    ],
)
def test_help(run: Run, command: str) -> None:
    """Every command says in its help what it does; those that can fail say how they end."""
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"gradewright-client {command}" in result.stdout.replace("root ", "gradewright-client ")
    if command not in {"regions", "yards", "grades", "attributes"}:
        assert "3 when incomplete under --strict" in words(result.stdout)


def test_no_command_shows_the_help(run: Run) -> None:
    """Without a command the help is shown; --version says the version."""
    assert "value" in run().stdout + run().stderr
    assert run("--version").stdout.startswith("gradewright-client 0.")
