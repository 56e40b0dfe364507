"""gradewright-client: value files of parts, grade a part, read and post prices, from a terminal or a
script.
"""

from __future__ import annotations

import sys
from io import TextIOWrapper
from typing import TextIO, cast

import typer

from gradewright_sdk._version import __version__
from gradewright_sdk.cli import backtest as _backtest
from gradewright_sdk.cli import benchmarks as _benchmarks
from gradewright_sdk.cli import compositions as _compositions
from gradewright_sdk.cli import correct as _correct
from gradewright_sdk.cli import drafts as _drafts
from gradewright_sdk.cli import export as _export
from gradewright_sdk.cli import follow as _follow
from gradewright_sdk.cli import grade as _grade
from gradewright_sdk.cli import haul as _haul
from gradewright_sdk.cli import held as _held
from gradewright_sdk.cli import history as _history
from gradewright_sdk.cli import house as _house
from gradewright_sdk.cli import impact as _impact
from gradewright_sdk.cli import keep as _keep
from gradewright_sdk.cli import lists as _lists
from gradewright_sdk.cli import post as _post
from gradewright_sdk.cli import prices as _prices
from gradewright_sdk.cli import proof as _proof
from gradewright_sdk.cli import record as _record
from gradewright_sdk.cli import recovery as _recovery
from gradewright_sdk.cli import rulebook as _rulebook
from gradewright_sdk.cli import settle as _settle
from gradewright_sdk.cli import show as _show
from gradewright_sdk.cli import teardown as _teardown
from gradewright_sdk.cli import upload as _upload
from gradewright_sdk.cli import value as _value
from gradewright_sdk.cli import verify as _verify
from gradewright_sdk.cli import words as _words
from gradewright_sdk.cli._common import EXIT_CODES

app = typer.Typer(
    name="gradewright-client",
    help="Ask a Gradewright service: what parts are worth, which grade a part is, what yards pay.\n\n"
    "The service's address comes from --url or GRADEWRIGHT_URL (else http://127.0.0.1:8000), the key for "
    f"posting from GRADEWRIGHT_KEY.\n\n{EXIT_CODES}",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(asked: bool) -> None:
    if asked:
        print(f"gradewright-client {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Say the version."
    ),
) -> None:
    pass


app.command("value", help=_value.HELP)(_value.value)
app.command("grade", help=_grade.HELP)(_grade.grade)
app.command("teardown", help=_teardown.HELP)(_teardown.teardown)
app.command("haul", help=_haul.HELP)(_haul.haul)
app.add_typer(_recovery.app, name="recovery")
app.command("show", help=_show.SHOW_HELP)(_show.show)
app.command("replay", help=_show.REPLAY_HELP)(_show.replay)
app.command("prices", help=_prices.PRICES_HELP)(_prices.prices)
app.command("history", help=_history.HISTORY_HELP)(_history.history)
app.command("post", help=_post.HELP)(_post.post)
app.command("correct", help=_correct.HELP)(_correct.correct)
app.command("withdraw", help=_words.WITHDRAW_HELP)(_words.withdraw)
app.command("confirm", help=_words.CONFIRM_HELP)(_words.confirm)
app.command("dispute", help=_words.DISPUTE_HELP)(_words.dispute)
app.command("decide", help=_words.DECIDE_HELP)(_words.decide)
app.command("held", help=_held.HELP)(_held.held)
app.command("upload", help=_upload.HELP)(_upload.upload)
app.command("export", help=_export.HELP)(_export.export)
app.command("benchmarks", help=_benchmarks.HELP)(_benchmarks.benchmarks)
app.command("keep", help=_keep.HELP)(_keep.keep)
app.command("backtest", help=_backtest.HELP)(_backtest.backtest)
app.command("compositions", help=_compositions.HELP)(_compositions.compositions)
app.command("record", help=_record.HELP)(_record.record)
app.command("follow", help=_follow.FOLLOW_HELP)(_follow.follow)
app.command("verify", help=_verify.VERIFY_HELP)(_verify.verify)
app.command("rulebook", help=_rulebook.HELP)(_rulebook.rulebook)
app.command("proof", help=_proof.HELP)(_proof.proof)
app.command("compare", help=_impact.COMPARE_HELP)(_impact.compare)
app.add_typer(_drafts.app, name="drafts")
app.command("impact", help=_impact.IMPACT_HELP)(_impact.impact)
app.command("settle", help=_settle.HELP)(_settle.settle)
app.command("settlement", help=_settle.SETTLEMENT_HELP)(_settle.settlement)
app.command("markdowns", help=_settle.MARKDOWNS_HELP)(_settle.markdowns)
app.command("regions")(_lists.regions)
app.command("yards")(_lists.yards)
app.command("house-rules", help=_house.HELP)(_house.house_rules)
app.command("rulebooks")(_lists.rulebooks)
app.command("grades")(_lists.grades)
app.command("attributes")(_lists.attributes)


def main() -> None:
    """Run the command line."""
    from gradewright_sdk.cli._output import UntilCut

    streams = (sys.stdout, sys.stderr)
    out, err = (UntilCut(one) if isinstance(one, TextIOWrapper) else one for one in streams)
    sys.stdout, sys.stderr = cast("TextIO", out), cast("TextIO", err)
    try:
        app()
    finally:
        sys.stdout.flush()
