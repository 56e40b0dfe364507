"""What the demo says around the client's own answer."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.console import Console
from rich.text import Text

from gradewright.demo.postings import Planned
from gradewright.demo.scenario import REGION, Scenario
from gradewright.demo.seeding import Seeded

UNOPENED = ("teardown", "--kind", "treadmill", "--weight", "70 kg", "--hour-rate", "12", "--region", REGION)
"""What is known before a treadmill is opened, by what members found in theirs."""
Plan = Mapping[str, Sequence[Planned]]


def opening(console: Console) -> None:
    """What this is."""
    title(console, "Kelder Bay, an invented district: all names and figures are made up.")


def district(console: Console, scenario: Scenario, plan: Plan, seeded: Seeded, seconds: float) -> None:
    """What was posted, and what was refused."""
    here = sum(yard.region == REGION for yard in scenario.yards.values())
    first = min(one.observed_on for ones in plan.values() for one in ones)
    visits = (
        f"{len(plan)} members have posted {seeded.prices:,} prices in {seeded.postings} visits since {first}"
    )
    yards = f"to {here} yards here and {len(scenario.yards) - here} in the next district"
    say(console, f"{visits}, {yards}. (Sent in {seconds:.1f} s.)")
    refused = scenario.refused
    grade, yard = refused.grade, scenario.yards[refused.yard].name
    say(
        console,
        f"Refused: {refused.member}'s price for {grade} at {yard}, per {refused.per!r}. The service said: "
        f"{seeded.refusal} So it was posted again, per {refused.meant}.",
    )


def slip(console: Console, scenario: Scenario, plan: Plan, likely: Mapping[str, str]) -> None:
    """The careless member, and that the price does not follow."""
    careless = scenario.careless
    yard = scenario.yards[careless.yard]
    wrong = [
        price
        for one in plan[careless.member]
        for price in one.body["prices"]
        if one.body["yard"] == yard.slug and price.get("grade") == careless.grade
        if price["per"] == careless.per and "from_weight" not in price
    ]
    say(
        console,
        f"Careless: {len(wrong)} times {careless.member} wrote {yard.name}'s price of {careless.grade} per "
        f"{careless.per} instead of per {yard.unit}, the last time {wrong[-1]['price']} per {careless.per}. "
        f"The likely price does not follow: {likely['yard']} there, {likely['region']} in the district.",
    )


def treadmill(console: Console, parts: Path) -> None:
    """What comes next, as the command that shows it."""
    console.print()
    title(console, "A treadmill, dismantled: what is it worth here today?")
    command(console, f"gradewright-client value {shlex.quote(parts.name)} --region {REGION}")
    console.print()


def unopened(console: Console) -> None:
    """The last question, as the command that answers it."""
    console.print()
    title(console, "And another, not opened yet: whole or apart, for 12 an hour?")
    command(console, f"gradewright-client {shlex.join(UNOPENED)}")
    console.print()


def title(console: Console, text: str) -> None:
    """A line that begins something."""
    console.print(Text(text, style="bold"), soft_wrap=True)


def say(console: Console, text: str) -> None:
    """A paragraph, set in."""
    lines = textwrap.wrap(text, max(console.width - 2, 20), initial_indent="  ", subsequent_indent="  ")
    for line in lines:
        console.print(Text(line), soft_wrap=True)


def command(console: Console, line: str) -> None:
    """A command on one line of its own, however long: it is to be copied."""
    console.print(Text(f"  {line}", style="cyan"), soft_wrap=True)
