"""What the SDK's README shows is what happens."""

from __future__ import annotations

import ast
import asyncio
import re
import shutil
from collections.abc import AsyncIterator, Mapping
from concurrent.futures import Future
from pathlib import Path

import httpx
import pytest
from tests.conftest import Watch, talk_to
from typer.testing import CliRunner

import gradewright_sdk
from gradewright.asgi import create_app
from gradewright.demo.database import fill
from gradewright.demo.postings import planned
from gradewright.demo.scenario import read_scenario
from gradewright.demo.seeding import seed
from gradewright.settings import Settings
from gradewright_sdk import Part, Rulebook
from gradewright_sdk.cli import app
from gradewright_sdk.cli._parts import read_parts
from gradewright_sdk.testing import FakeGradewright

README = Path(gradewright_sdk.__file__).parents[2] / "README.md"
TEXT = README.read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```python\n(.*?)```\n.*?```text\n(.*?)```", TEXT, re.DOTALL)


def test_every_example_says_what_it_prints() -> None:
    """Every Python example of the README is followed by what it prints, so that all of them are run here."""
    assert len(EXAMPLES) == TEXT.count("```python") == TEXT.count("```text") >= 4


class InProcess(httpx.BaseTransport, httpx.AsyncBaseTransport):
    """Leads requests from other threads and their event loops to an application in this one's.

    `keys` are those of its members.
    """

    def __init__(self, client: httpx.AsyncClient, keys: Mapping[str, str]) -> None:
        self.client, self.keys = client, keys
        self.loop = asyncio.get_running_loop()

    async def pass_on(self, method: str, path: bytes, headers: httpx.Headers, body: bytes) -> httpx.Response:
        answer = await self.client.request(method, path.decode(), headers=headers, content=body)
        return httpx.Response(answer.status_code, headers=answer.headers, content=answer.content)

    def passed(self, request: httpx.Request, body: bytes) -> Future[httpx.Response]:
        passing = self.pass_on(request.method, request.url.raw_path, request.headers, body)
        return asyncio.run_coroutine_threadsafe(passing, self.loop)

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        return self.passed(request, request.read()).result()

    async def handle_async_request(self, request: httpx.Request) -> httpx.Response:
        return await asyncio.wrap_future(self.passed(request, await request.aread()))


@pytest.fixture(scope="module")
async def demo(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[InProcess]:
    """The demo's district in the real application, on a day of the tests."""
    file = tmp_path_factory.mktemp("readme") / "kelder-bay.sqlite"
    shutil.copy(migrated_sqlite, file)
    scenario, watch = read_scenario(), Watch()
    keys = await fill(f"sqlite:///{file}", scenario)
    app = create_app(Settings(database_url=f"sqlite:///{file}"), clock=watch)
    async with talk_to(app) as client:
        today = watch.now.date()
        await seed(client, scenario, keys, planned(scenario, today), today)
        yield InProcess(client, keys)


@pytest.mark.parametrize(("code", "prints"), EXAMPLES)
async def test_example_runs(
    code: str,
    prints: str,
    demo: InProcess,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """An example of the README, run as it stands against the demo's service, prints what the README says. But
    for the day: the service's is that of the tests.
    """
    sync, asynchronous = httpx.Client, httpx.AsyncClient
    monkeypatch.setattr(httpx, "Client", lambda **given: sync(**{"transport": demo, **given}))
    monkeypatch.setattr(httpx, "AsyncClient", lambda: asynchronous(transport=demo))
    monkeypatch.setenv("GRADEWRIGHT_KEY", demo.keys["wren"])
    # In a thread of its own: one example runs an event loop, and the tests have one already.
    code = code.replace("date.today()", f"date.fromisoformat('{Watch().now.date()}')")
    await asyncio.to_thread(exec, compile(code, "README.md", "exec"), {"__name__": "readme"})
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


def test_what_the_readme_observes_can_be_observed() -> None:
    """Also where a stand-in answers, which takes anything: all of it stands in the newest rulebook."""
    from gradewright.rulebooks import document

    published = sorted((Path(document.__file__).parent / "published").glob("*.yaml"))
    attributes = document.from_yaml(published[-1].read_text(encoding="utf-8"))["attributes"]
    shown = [ast.literal_eval(given) for given in re.findall(r"grade\((\{.*?\})", TEXT)]
    assert shown
    for observed in shown:
        for name, value in observed.items():
            assert name in attributes
            assert value in attributes[name].get("choices", {value})


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
