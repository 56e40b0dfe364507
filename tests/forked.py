"""Commands that need not read all they import again: each is a fork of a process that has done so once.

What a command does is as when it is started: it is a process of its own, with its environment, its folder,
its standard streams and its exit status. That they start from nothing is for tests/test_cli.py and others.
"""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path

from gradewright.cli import ELSEWHERE

READ = ["gradewright.cli", *ELSEWHERE.values(), "gradewright.asgi", "gradewright_sdk.cli", "alembic.command"]
_FORKS = multiprocessing.get_context("forkserver")
_FORKS.set_forkserver_preload(READ)


def run(
    module: str, words: Sequence[str], *, env: Mapping[str, str], cwd: Path | None = None, within: float = 60
) -> subprocess.CompletedProcess[str]:
    """Runs the `main` of a module to its end. `subprocess.TimeoutExpired`: it took longer than `within`
    seconds.
    """
    command = [module, *words]
    with tempfile.TemporaryDirectory() as folder:
        told = [Path(folder) / name for name in ("out", "err")]
        process = _FORKS.Process(target=_main, args=(command, dict(env), cwd or Path.cwd(), told))
        process.start()
        process.join(within)
        if process.exitcode is None:
            process.kill()
            process.join()
            raise subprocess.TimeoutExpired(command, within)
        printed = [file.read_text(encoding="utf-8") for file in told]
    return subprocess.CompletedProcess(command, process.exitcode, *printed)


def _main(command: Sequence[str], env: Mapping[str, str], cwd: Path, told: Sequence[Path]) -> None:
    """In the fork: as if it had been started so."""
    os.environ.clear()
    os.environ.update(env)
    os.chdir(cwd)
    for descriptor, place in enumerate((Path(os.devnull), *told)):
        opened = os.open(place, os.O_WRONLY | os.O_CREAT if descriptor else os.O_RDONLY)
        os.dup2(opened, descriptor)
        os.close(opened)
    sys.stdin = open(0, closefd=False)  # noqa: SIM115 - multiprocessing has put another one there
    sys.argv = list(command)
    sys.exit(import_module(command[0]).main())  # as what pip makes of an entry point
