"""What its reader can do next, as commands to copy."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from rich.console import Console
from rich.text import Text

from gradewright.demo.files import Files
from gradewright.demo.scenario import REGION
from gradewright.demo.serving import HOST, USUAL_PORT
from gradewright.demo.telling import command, say, title


@dataclass(frozen=True, slots=True)
class Again:
    """What the commands to try need: where everything is, and a member with a key.

    `wanted`: the port that was asked for, if one was.
    """

    database_url: str
    files: Files
    url: str
    port: int
    member: str
    key: str
    today: date
    wanted: int | None = None

    @property
    def elsewhere(self) -> str | None:
        """That it is not where everybody looks, and what that means for examples; None where it is."""
        if self.port == USUAL_PORT:
            return None
        taken = f"Port {USUAL_PORT} is in use, so this is on port {self.port}. "
        return (
            f"{taken if self.wanted is None else ''}Where README has http://{HOST}:{USUAL_PORT}, write "
            f"{self.url}; commands of the client take it from GRADEWRIGHT_URL, as here."
        )

    @property
    def serve(self) -> str:
        """The command that serves the district."""
        url = shlex.quote(self.database_url)
        return f"GRADEWRIGHT_DATABASE_URL={url} gradewright serve --port {self.port}"

    @property
    def commands(self) -> Mapping[str, Sequence[str]]:
        """Commands of the client to copy, by what they show."""
        parts = shlex.quote(self.files.parts.name)
        half_a_year_ago = self.today - timedelta(days=182)
        return {
            "where the commands, the parts and the service are": (
                *activation(),
                f"cd {shlex.quote(str(self.files.parts.parent))}",
                f"export GRADEWRIGHT_URL={self.url}",
            ),
            "what the district pays; one yard, for a lot that it pays better": (
                f"gradewright-client prices --region {REGION}",
                "gradewright-client prices --yard cinder-lane --grade copper-no2 --weight '120 lb'",
            ),
            "how copper moved in nine months": (f"gradewright-client history copper-no2 --region {REGION}",),
            "the treadmill half a year ago; today, at a yard that takes no boards": (
                f"gradewright-client value {parts} --region {REGION} --on {half_a_year_ago}",
                f"gradewright-client value {parts} --yard tern-row",
            ),
            "the treadmill at a yard where heavy steel begins at 3 mm: the rollers are heavy there": (
                f"gradewright-client value {parts} --yard cinder-lane",
            ),
            "before a treadmill is opened: what members found in theirs": (
                "gradewright-client compositions treadmill --weight '70 kg'",
            ),
            "the same treadmill, if an hour of yours is worth nothing": (
                "gradewright-client teardown --kind treadmill --weight '70 kg' --hour-rate 0 "
                f"--region {REGION}",
            ),
            "a kind that nobody here has taken apart yet, by publications; the minutes are yours to say": (
                "gradewright-client teardown --kind washing-machine --weight '70 kg' --minutes 40 "
                f"--hour-rate 12 --region {REGION}",
            ),
            "how much of a cable is copper, by its build, and which grades that can be": (
                "gradewright-client recovery cable --conductor '3 x 14 AWG' --weight '28.0 lb' "
                f"--length '500 ft' cable_kind=building --region {REGION}",
            ),
            "three bins: to which yards, in how many trips": (
                "gradewright-client haul --bin 'copper-no2 90 lb' --bin 'light-iron 700 lb' "
                f"--bin 'motors-copper 60 lb' --region {REGION} --trip-cost 12 --stop-cost 4",
            ),
            "a bin that is short of the weight from which a yard pays more: what waiting would bring": (
                "printf 'name,weight,grade\\ncopper,80 lb,copper-no2\\n' "
                f"| gradewright-client value - --region {REGION}",
            ),
            "which grade is it? Asks what to look at, and why": (
                f"gradewright-client grade --region {REGION}",
            ),
            f"post a price, as {self.member}": (
                f"export GRADEWRIGHT_KEY={self.key}",
                f"gradewright-client post --yard low-quay --observed-on {self.today} --evidence sign "
                "--price '\"#2 Cu\" 3.44 USD/lb'",
            ),
            "a scale ticket held against what was brought, with that key": (
                "gradewright-client settle --template --output ticket.csv",
                "gradewright-client settle ticket.csv --yard low-quay --bin 'copper-no2 12.4 lb' "
                "--bin 'light-iron 50 lb'",
            ),
            "a maintainer's key, for house rules, benchmarks and decisions": (
                f"GRADEWRIGHT_DATABASE_URL={shlex.quote(self.database_url)} "
                "gradewright keys create --handle sedge --role maintainer",
            ),
        }


def activation() -> tuple[str, ...]:
    """What makes this virtual environment known to another terminal; nothing where there is none."""
    script = Path(sys.prefix, "bin", "activate")
    inside = sys.prefix != sys.base_prefix and script.exists()
    return (f". {shlex.quote(str(script))}",) if inside else ()


def running(console: Console, again: Again) -> None:
    """What to try while the service runs."""
    _commands(console, again, "Commands to try, in another terminal")
    console.print()
    title(console, "The service runs until you press Ctrl-C.")


def stopped(console: Console, again: Again, *, repeat: bool) -> None:
    """Where the district is and how to have it again; with `repeat`, also what to try then."""
    console.print()
    title(console, f"The service has stopped. The district is in {again.files.database}")
    say(console, "Serve it again:")
    command(console, again.serve)
    if repeat:
        _commands(console, again, "Then try, in another terminal")


def _commands(console: Console, again: Again, heading: str) -> None:
    console.print()
    if again.elsewhere is not None:
        say(console, again.elsewhere)
        console.print()
    title(console, heading)
    for what, lines in again.commands.items():
        console.print(Text(f"  # {what}", style="dim"), soft_wrap=True)
        for line in lines:
            command(console, line)
