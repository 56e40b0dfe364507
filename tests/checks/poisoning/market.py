"""An invented market, and people who post what it pays: honest ones, and ones who agree on a lie.

Every yard has a true price of every grade: the region's, times what the yard pays more or less. Honest
authors see it with 5 % noise. Liars collude: at every yard they go to they post the region's true price times
the same factor. What stands in `STRATEGIES` is what they can do; `share` is their part of all authors.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

GRADES = (
    "copper-no1",
    "copper-no2",
    "copper-light",
    "brass-yellow",
    "brass-red",
    "aluminium-cast",
    "aluminium-clips",
    "lead-soft",
)
YARDS = tuple(f"yard-{number}" for number in range(1, 7))
OWN = tuple(f"own-{number}" for number in range(1, 10))
"""Yards where liars alone go; they pay what the region does."""
HONEST = 24
NOISE = 0.05
YARDS_DIFFER = 0.03
WEEKLY_MOVE = 0.01
VERSION = os.environ.get("GRADEWRIGHT_POISONING", "2027.8")
"""The rulebook by which the market is played; each course begins when it is in force."""
START = {
    "2026.2": date(2026, 9, 7),
    "2027.4": date(2027, 5, 3),
    "2027.5": date(2027, 6, 7),
    "2027.6": date(2026, 12, 7),
    "2027.7": date(2026, 12, 7),
    "2027.8": date(2026, 12, 7),
}[VERSION]
LIMITED = VERSION >= "2027.5"
"""Whether what is borne out has a limit."""
ATTACK = 35  # days after the start
LAST = 49
EVERY = 7
AT_YARDS = 2


@dataclass(frozen=True)
class Strategy:
    """What liars multiply the true price by on a day (1: nothing yet), and how they go about it.

    `grades`: how many they lie about. `fresh_keys`: one person opens them all on the day of the attack.
    `rush`: days from the attack on which they post daily. `settles`: each lie comes with a scale ticket, made
    up for it, that adds up and is settled. `own_yards`: from the attack on all of them go to so many yards of
    their own too, and bear each other out there. `worst`: what the worst day of three courses came to, up to
    the next whole percent: with up to 30 % of liars, and with 45 %.
    """

    name: str
    factor: Callable[[int], float]
    grades: int = len(GRADES)
    fresh_keys: bool = False
    rush: int = 0
    settles: bool = False
    own_yards: int = 0
    worst: tuple[float, float] = (0.05, 0.04)

    def __str__(self) -> str:
        return self.name


STRATEGIES = (
    Strategy("ten times the price", lambda _: 10.0),
    Strategy("a fifth more", lambda _: 1.2, worst=(0.05, 0.09)),
    Strategy("slow drift, 1 % a day", lambda day: 1 + 0.01 * max(0, day - 14), worst=(0.05, 0.19)),
    Strategy("one person, many new keys", lambda _: 1.3, fresh_keys=True, rush=3, worst=(0.04, 0.03)),
    Strategy("burst before a haul", lambda day: 1.5 if day >= ATTACK else 1.0, rush=3, worst=(0.04, 0.04)),
)
CUNNING = Strategy(
    "a fifth more, of one grade only", lambda _: 1.2, grades=1, worst=(0.08, 0.24 if LIMITED else 0.23)
)
"""Beyond what is promised: all else they post is true, so that their standing hardly falls."""
MADE_UP = tuple(
    replace(strategy, name=f"{strategy.name}, by tickets made up", settles=True)
    for strategy in (STRATEGIES[0], STRATEGIES[1], STRATEGIES[3], STRATEGIES[4])
)
APART = tuple(
    replace(
        strategy,
        name=f"{strategy.name}, at nine yards of their own too",
        own_yards=len(OWN),
        worst=(0.06, 0.09),
    )
    for strategy in (STRATEGIES[0], STRATEGIES[4])
)
"""What versions before 2027.5 do not hold."""
HONEST_ONLY = Strategy("nobody lies", lambda _: 1.0)


@dataclass(frozen=True)
class Visit:
    """One act of posting: prices in USD per lb, by grade."""

    author: str
    yard: str
    day: int
    prices: dict[str, str]
    evidence: str
    settled: bool = False

    @property
    def observed_on(self) -> str:
        return (START + timedelta(days=self.day)).isoformat()


@dataclass
class Market:
    """One course of things, drawn from a seed."""

    strategy: Strategy
    share: float
    seed: int
    jump: float = 1.0
    level: list[dict[str, float]] = field(init=False)
    pays: dict[str, float] = field(init=False)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        price = {grade: self._random.uniform(0.5, 5) for grade in GRADES}
        self.level = []
        for day in range(LAST + 1):
            moved = 1 + self._random.gauss(0, WEEKLY_MOVE / 7**0.5)
            price = {grade: at * moved for grade, at in price.items()}
            jump = self.jump if day >= ATTACK else 1.0
            self.level.append({grade: at * jump for grade, at in price.items()})
        self.pays = {yard: 1 + self._random.gauss(0, YARDS_DIFFER) for yard in YARDS}

    def truth(self, grade: str, day: int) -> float:
        """What the region truly pays: the median over its yards, the lower middle one."""
        at_yards = sorted(self.level[day][grade] * pays for pays in self.pays.values())
        return at_yards[(len(at_yards) - 1) // 2]

    def authors(self) -> tuple[Sequence[str], Sequence[str]]:
        """The honest ones, and the liars."""
        if self.strategy.fresh_keys:
            liars = round(HONEST * self.share / (1 - self.share))
            return [f"member-{n}" for n in range(HONEST)], [f"key-{n}" for n in range(liars)]
        liars = round(HONEST * self.share)
        names = [f"member-{n}" for n in range(HONEST)]
        self._random.shuffle(names)
        return names[liars:], names[:liars]

    def visits(self) -> Iterator[Visit]:
        """Everything that is posted, day by day."""
        honest, liars = self.authors()
        rounds = {
            name: (self._random.sample(YARDS, AT_YARDS), self._random.randrange(EVERY))
            for name in sorted([*honest, *liars])
        }
        for day in range(LAST + 1):
            today = [name for name, (_, phase) in rounds.items() if (day + phase) % EVERY == 0]
            if ATTACK <= day < ATTACK + self.strategy.rush:
                today = sorted({*today, *liars})
            self._random.shuffle(today)
            for name in today:
                if self.strategy.fresh_keys and name in liars and day < ATTACK:
                    continue
                own = OWN[: self.strategy.own_yards] if name in liars and day >= ATTACK else ()
                for yard in (*rounds[name][0], *own):
                    yield self._visit(name, yard, day, lies=name in liars)

    def _visit(self, name: str, yard: str, day: int, *, lies: bool) -> Visit:
        factor = self.strategy.factor(day) if lies else 1.0
        prices = {}
        for number, grade in enumerate(GRADES):
            seen = self.level[day][grade] * self.pays.get(yard, 1) * (1 + self._random.gauss(0, NOISE))
            if factor != 1 and number < self.strategy.grades:
                seen = self.level[day][grade] * factor
            prices[grade] = f"{seen:.4f}"
        evidence = "ticket" if factor != 1 else "sign"
        return Visit(name, yard, day, prices, evidence, factor != 1 and self.strategy.settles)
