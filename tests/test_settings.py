"""Settings come from the environment, and a bad one is named."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from gradewright.settings import Settings, SettingsError, told
from tests.served import run

README = Path(__file__).parents[1] / "README.md"


def test_nothing_set_gives_the_defaults() -> None:
    """Without any variable the service keeps a SQLite file in the working folder."""
    assert Settings.from_environment({}) == Settings()
    assert Settings().database_url == "sqlite:///gradewright.sqlite"


def test_an_empty_variable_counts_as_not_set() -> None:
    """A variable that is there and empty changes nothing."""
    assert (
        Settings.from_environment({"GRADEWRIGHT_POOL_SIZE": "", "GRADEWRIGHT_DATABASE_URL": ""}) == Settings()
    )


def test_every_setting_can_be_set() -> None:
    """Each field is read from the variable of its name."""
    found = Settings.from_environment(
        {
            "GRADEWRIGHT_DATABASE_URL": "postgresql://h/d",
            "GRADEWRIGHT_POOL_SIZE": "3",
            "GRADEWRIGHT_MAX_BODY_BYTES": "2048",
            "GRADEWRIGHT_LEDGER_POLL_SECONDS": "0.5",
            "GRADEWRIGHT_REQUESTS_PER_MINUTE": "90",
            "GRADEWRIGHT_LOG_REQUESTS": "1",
            "GRADEWRIGHT_CHECKPOINT_KEY": "k",
            "GRADEWRIGHT_CHECKPOINT_KEY_FILE": "f",
            "GRADEWRIGHT_LEDGER_NAME": "n",
            "GRADEWRIGHT_LOG_JSON": "1",
        }
    )
    assert found == Settings(
        "postgresql://h/d", 3, 2048, 0.5, 90, "k", "f", "n", log_requests=True, log_json=True
    )


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("GRADEWRIGHT_DATABSE_URL", "GRADEWRIGHT_DATABASE_URL"),
        ("GRADEWRIGHT_POOLSIZE", "GRADEWRIGHT_POOL_SIZE"),
        ("GRADEWRIGHT_LOG_REQUEST", "GRADEWRIGHT_LOG_REQUESTS"),
        ("GRADEWRIGHT_CHECKPOINT_KEYFILE", "GRADEWRIGHT_CHECKPOINT_KEY_FILE"),
        ("GRADEWRIGHT_DB_URL", "GRADEWRIGHT_DATABASE_URL"),
        ("GRADWRIGHT_DATABASE_URL", "GRADEWRIGHT_DATABASE_URL"),
        ("GRADEWRIGTH_POOL_SIZE", "GRADEWRIGHT_POOL_SIZE"),
        ("gradewright_database_url", "GRADEWRIGHT_DATABASE_URL"),
    ],
)
def test_a_mistyped_setting_is_refused(name: str, meant: str) -> None:
    """What is nearly a setting would be ignored, and another database written to: it is named instead."""
    with pytest.raises(SettingsError, match=f"^{name} is no setting. If you mean {meant}, call it so"):
        Settings.from_environment({name: "x"})


def test_variables_of_others_are_left_alone() -> None:
    """Those of the client, and of whoever else uses the prefix."""
    others = ("URL", "KEY", "BENCH_LARGEST", "POISONING", "HOME", "PORT")
    found = {f"GRADEWRIGHT_{name}": "x" for name in others} | {"GRADLE_USER_HOME": "x", "GRADE": "x"}
    assert Settings.from_environment(found) == Settings()


def test_every_setting_is_told_with_its_default() -> None:
    """Each field is told by its variable; the default that is told is what leaving it out gives."""
    settings = told()
    assert [one.variable for one in settings] == [
        f"GRADEWRIGHT_{field.name.upper()}" for field in fields(Settings)
    ]
    assert Settings.from_environment({one.variable: one.default for one in settings}) == Settings()


def test_the_readme_has_every_setting() -> None:
    """The operator's table has a row for each setting, in order, with its default and the same words."""
    rows = re.findall(
        r"^\| `(GRADEWRIGHT_\w+)` \| `(.*?)` \| (.*) \|$", README.read_text(encoding="utf-8"), re.M
    )
    assert rows == [(one.variable, one.default, one.says) for one in told()]


def test_the_help_of_serve_has_every_setting() -> None:
    """`serve --help` tells each setting with its default, without a database."""
    help_ = " ".join(run("sqlite:////nowhere/at/all.sqlite", "serve", "--help").stdout.split())
    for one in told():
        assert f"{one.variable} [{one.default}] {one.says}" in help_


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("GRADEWRIGHT_POOL_SIZE", "0"),
        ("GRADEWRIGHT_POOL_SIZE", "many"),
        ("GRADEWRIGHT_POOL_SIZE", "٣"),
        ("GRADEWRIGHT_MAX_BODY_BYTES", "1"),
        ("GRADEWRIGHT_MAX_BODY_BYTES", "-2048"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "soon"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "-1"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "1_0"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "٣"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "3601"),
        ("GRADEWRIGHT_LEDGER_POLL_SECONDS", "nan"),
        ("GRADEWRIGHT_LOG_JSON", "yes"),
    ],
)
def test_a_bad_setting_is_named(name: str, value: str) -> None:
    """The refusal names the variable, shows its value and says what to write."""
    with pytest.raises(SettingsError, match=f"{name} is '{value}'; write"):
        Settings.from_environment({name: value})
