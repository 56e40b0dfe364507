"""The house keeps its order: imports point one way, and the two distributions agree about themselves."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import gradewright

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "service" / "gradewright"
LEVELS = [
    {"core"},
    {"web", "db"},
    {"accounts"},
    {"regions"},
    {"rulebooks"},
    {"yards", "benchmarks"},
    {"prices"},
    {"compositions"},
    {"ledger"},
    {"answers"},
    {"valuations"},
    {"teardowns", "hauls", "recoveries"},
    {"settlements"},
    {"drafts"},
    {"impacts"},
]
"""From the ground up. What stands in the package's own folder (settings, clock, logs) is told its values
from outside and belongs to no level; `asgi`, `cli`, `demo` and `health` stand above all."""
ABOVE_ALL = {"asgi", "cli", "demo", "health"}
INSIDE = ["models", "repository", "service", "schemas", "controller"]


def level(concept: str) -> int:
    """How high a concept stands; what is above all stands highest."""
    return next((height for height, names in enumerate(LEVELS) if concept in names), len(LEVELS))


def imports(path: Path) -> Iterator[list[str]]:
    """The modules of the package that a file imports, wherever in it, as parts without the package's name."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        for name in names:
            package, _, rest = name.partition(".")
            if package == "gradewright" and rest:
                yield rest.split(".")


def files() -> list[Path]:
    """Every file of the service."""
    return sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_file_imports_upward(path: Path) -> None:
    """A file imports from its own level or from below, never from above."""
    own = path.relative_to(PACKAGE).with_suffix("").parts[0]
    if own in ABOVE_ALL or path.parent == PACKAGE:
        return
    for module in imports(path):
        concept = module[0]
        if concept in ABOVE_ALL or (PACKAGE / concept).is_dir():
            assert level(concept) <= level(own), f"{path.name} imports gradewright.{'.'.join(module)}"


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_of_a_concept_import_downward(path: Path) -> None:
    """Inside a concept: controller, schemas, service, repository, models, each only from what comes after."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    if len(parts) < 2 or parts[1] not in INSIDE:
        return
    height = INSIDE.index(parts[1])
    for module in imports(path):
        if len(module) > 1 and module[0] == parts[0] and module[1] in INSIDE:
            assert INSIDE.index(module[1]) <= height, f"{path} imports gradewright.{'.'.join(module)}"


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_concept_is_reached_through_its_service(path: Path) -> None:
    """No file reads another concept's rows or queries."""
    own = path.relative_to(PACKAGE).parts[0]
    for module in imports(path):
        if len(module) > 1 and module[0] != own and module[1] in {"models", "repository"}:
            pytest.fail(f"{path} imports gradewright.{'.'.join(module)}")


def test_the_import_rules_of_the_project_hold() -> None:
    """The contracts in pyproject.toml are kept, as import-linter reads them."""
    command = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run(
        [command, "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": f"{ROOT / 'service'}:{ROOT / 'sdk' / 'src'}", "PATH": ""},
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_version_is_told_once() -> None:
    """The package and its distribution have the same version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == gradewright.__version__


@pytest.mark.parametrize("path", files(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_stay_readable(path: Path) -> None:
    """A file has a docstring that says what it is for, and at most 400 lines."""
    text = path.read_text(encoding="utf-8")
    assert ast.get_docstring(ast.parse(text)), f"{path} does not say what it is for"
    assert text.count("\n") <= 400, f"{path} has grown too long"


def test_both_distributions_read_decimal_commas_alike() -> None:
    """The client reads files of parts, the service whole lists; neither imports the other."""
    client = ROOT / "sdk" / "src" / "gradewright_sdk" / "cli" / "_commas.py"
    assert client.read_text(encoding="utf-8") == (PACKAGE / "web" / "commas.py").read_text(encoding="utf-8")
