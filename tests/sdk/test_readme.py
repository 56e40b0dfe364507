"""What the SDK's README shows is what happens."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from typer.testing import CliRunner

import gradewright_sdk
from gradewright_sdk import Part, Rulebook
from gradewright_sdk.cli import app
from gradewright_sdk.cli._parts import read_parts
from gradewright_sdk.testing import FakeGradewright, samples

README = Path(gradewright_sdk.__file__).parents[2] / "README.md"
TEXT = README.read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```python\n(.*?)```\n.*?```text\n(.*?)```", TEXT, re.DOTALL)


def test_every_example_says_what_it_prints() -> None:
    """Every Python example of the README is followed by what it prints, so that all of them are run here."""
    assert len(EXAMPLES) == TEXT.count("```python") == TEXT.count("```text") >= 4


@pytest.fixture
def served(fake: FakeGradewright, monkeypatch: pytest.MonkeyPatch) -> None:
    """Clients that make their own http client talk to the stand-in."""
    motor = samples.valued_part(
        name="drive motor", grade="motors-copper", amount=samples.spread("2.98", "2.98", "2.98")
    )
    frame = samples.valued_part(
        name="frame", grade=None, amount=None, unpriced="too little is known: measure its thickness"
    )
    totals = {**samples.spread("2.98", "2.98", "2.98"), "cash": None, "priced": 1, "unpriced": 1}
    fake.answer("POST", "/v1/valuations", samples.valuation(motor, frame, totals=totals, complete=False))
    fake.answer("GET", "/v1/prices", samples.price_list())
    fault = {"detail": "x", "parameter": "grade", "suggestions": ["copper-no2"]}
    detail = "No grade is called cooper-no2."
    fake.problem("GET", "/v1/prices/*", "unknown-grade", detail, status=404, errors=[fault])
    sync, asynchronous = httpx.Client, httpx.AsyncClient
    monkeypatch.setattr(httpx, "Client", lambda **given: sync(**{"transport": fake.transport, **given}))
    monkeypatch.setattr(httpx, "AsyncClient", lambda: asynchronous(transport=fake.transport))


@pytest.mark.parametrize(("code", "prints"), EXAMPLES)
@pytest.mark.usefixtures("served")
def test_example_runs(code: str, prints: str, capsys: pytest.CaptureFixture[str]) -> None:
    """An example of the README runs as it stands and prints what the README says."""
    from concurrent.futures import ThreadPoolExecutor

    # In a thread of its own: one example runs an event loop, and the tests have one already.
    with ThreadPoolExecutor(1) as pool:
        pool.submit(exec, compile(code, "README.md", "exec"), {"__name__": "readme"}).result()
    assert capsys.readouterr().out == prints


def test_csv_example_fits_the_shipped_rulebook() -> None:
    """The CSV example of the README is read without a fault under the rulebook that ships."""
    from gradewright.rulebooks import document

    published = sorted((Path(document.__file__).parent / "published").glob("*.yaml"))
    newest = document.from_yaml(published[-1].read_text(encoding="utf-8"))
    match = re.search(r"```csv\n(.*?)```", TEXT, re.DOTALL)
    assert match
    file = read_parts(match[1].encode(), Rulebook.model_validate(newest), kind="csv")
    assert file.parts == (
        Part("drive motor", 2, None, "1.35 kg", {"assembly": "motor", "winding_metal": "copper"}),
        Part(
            "frame", None, "27 lb 6 oz", observed={"metal": "steel", "form": "section", "thickness": "3 mm"}
        ),
        Part("old sign", None, "2 kg", grade="light-iron"),
    )


def test_commands_of_the_readme_exist() -> None:
    """Every command and option that the README shows is one of the program's."""
    shown = re.search(r"```sh\n(.*?)```", TEXT, re.DOTALL)
    assert shown
    lines = [line for line in shown[1].replace("\\\n", " ").splitlines() if line.strip()]
    assert len(lines) >= 5
    for line in lines:
        words = line.partition("#")[0].split()
        assert words[0] == "gradewright-client"
        help_text = CliRunner().invoke(app, [words[1], "--help"], env={"COLUMNS": "120"}).stdout
        for option in re.findall(r"--[a-z-]+", line):
            assert option in help_text


def test_table_of_methods_is_whole() -> None:
    """The README's table names every resource and method of the client."""
    from gradewright_sdk._base import Resource

    client = FakeGradewright().client()
    for name, resource in vars(client).items():
        if isinstance(resource, Resource):
            row = next(line for line in TEXT.splitlines() if line.startswith(f"| `client.{name}`"))
            methods = {one for one in dir(resource) if not one.startswith("_")}
            assert set(re.findall(r"`(\w+)\(", row)) == methods
