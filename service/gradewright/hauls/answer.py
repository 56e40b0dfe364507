"""The answer on a haul as plain values: trips with their stops and piles, what stays, the second choice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from gradewright.core.concerns import Concerning, of_grades
from gradewright.core.haul.found import Best, GoesFrom, Told
from gradewright.core.haul.plan import Pile, Reckoned, can_go, reckon
from gradewright.core.rates import Amount
from gradewright.hauls.bins import Bin, shown_weight
from gradewright.hauls.further import all_made, alone, how_many, within
from gradewright.hauls.other_yards import found_less, none_found, of_these
from gradewright.hauls.question import Question
from gradewright.valuations.amounts import amount_shown, cents_of, spelled
from gradewright.valuations.shapes import warnings

WAITING_UNSAID = frozenset({"1", "2"})
"""The methods that told what was posted and waits as if nobody had posted it."""
COST_UNSAID = frozenset({"1", "2"})
"""The methods that did not tell what each stop costs."""


def tell(question: Question, told: Told) -> dict[str, Any]:
    """The answer, without its pins."""
    return _Telling(question, told).answer()


@dataclass(frozen=True)
class _Telling:
    question: Question
    told: Told

    def answer(self) -> dict[str, Any]:
        """All of it."""
        question, told = self.question, self.told
        found = reckon(question.haul, told.best.plan)
        costs = question.costs
        left = Amount(*(paid - found.cost for paid in found.paid))
        return {
            "region": question.region,
            "yards": [offers.yard.slug for offers in question.offers],
            "on": question.on.isoformat(),
            "currency": question.currency,
            "bins": [self._bin(each) for each in question.bins],
            "left_out": list(question.left_out),
            "most_trips": question.trips,
            "trips": [
                self._trip(number, list(piles))
                for number, piles in groupby(found.piles, lambda pile: pile.place.trip)
            ],
            "kept": self._kept(found),
            "paid": self._amount(found.paid),
            "costs": {
                "trips": self._money(costs.trip * found.trips),
                "stops": self._money(found.stop_costs),
                "piles": self._money(costs.pile * found.extra_piles),
                "total": self._money(found.cost),
            },
            "left": self._amount(left),
            "proof": self._proof(told.best, within(question) if all_made(question, found) else ""),
            "second": self._second(told),
            "cautions": warnings(self._cautions(found)),
        }

    def _money(self, minor: int) -> str:
        return spelled(minor, cents_of(self.question.currency))

    def _amount(self, amount: Amount) -> dict[str, str]:
        return amount_shown(amount, cents_of(self.question.currency))

    def _name(self, grade: str) -> str:
        return self.question.grader.rulebook.grades[grade].name

    def _proof(self, best: Best, of_these: str = "") -> dict[str, Any]:
        """How far a plan is from the best; `of_these`: of which plans, where not of all."""
        gap = best.bound - best.worth
        says = f"No plan{of_these} leaves more."
        if best.doubted and not best.proved:
            says = (
                f"The best plan{of_these} found. The solver contradicts itself on this haul, so nothing is "
                f"proved; none leaves more than {self._money(gap)} above it."
            )
        elif not best.proved:
            within, again = "work", "the same is found; more seconds allow more work."
            if self.told.by_clock:
                within, again = "time", "another may be found; kept, it is repeated as it is."
            more = f"none leaves more than {self._money(gap)} above it"
            says = f"The best plan{of_these} found in the {within} given; {more}. Asked again, {again}"
        return {
            "proved": best.proved,
            "bound": self._money(best.bound),
            "gap": self._money(gap),
            "says": says,
        }

    def _bin(self, each: Bin) -> dict[str, Any]:
        weight = shown_weight(Fraction(each.grams))
        return {
            "name": each.name,
            "grade": each.grade,
            "grade_name": self._name(each.grade),
            "weight": {"given": each.given, **weight},
            "lots": each.lots,
            "lower_to": list(each.grades[1:]),
            "priced_at": [of.yard.slug for of in self.question.offers if each.grade in of.prices],
            "refused_at": [of.yard.slug for of in self.question.offers if each.grade in of.refused],
        }

    def _trip(self, number: int, piles: list[Pile]) -> dict[str, Any]:
        stops = groupby(piles, lambda pile: pile.place.buyer)
        return {
            "trip": number + 1,
            **shown_weight(sum((pile.grams for pile in piles), Fraction(0))),
            "stops": [self._stop(buyer, list(there)) for buyer, there in stops],
            **self._loss(piles),
        }

    def _loss(self, piles: list[Pile]) -> dict[str, str | None]:
        """By how much a trip that has to be made brings less than it costs: without it that much more is
        left, and perhaps more still where only some of it goes.
        """
        costs, stops = self.question.costs, {pile.place.buyer for pile in piles}
        of_stops = sum(map(self.question.haul.stop, stops))
        cost = costs.trip + of_stops + costs.pile * (len(piles) - len(stops))
        loss = cost - sum(pile.amount.likely for pile in piles)
        if loss <= 0 or self.question.hold_back:
            return {"loss": None, "says": None}
        says = (
            f"This trip likely leaves {self._money(loss)} less than not making it. "
            "Let what is not worth a trip be held back."
        )
        return {"loss": self._money(loss), "says": says}

    def _stop(self, buyer: int, piles: list[Pile]) -> dict[str, Any]:
        offers = self.question.offers[buyer]
        paid = Amount(*(sum(column) for column in zip(*(pile.amount for pile in piles), strict=True)))
        told = [self._pile(buyer, pile) for pile in piles]
        return {
            "yard": offers.yard.slug,
            "name": offers.yard.name,
            "paid": self._amount(paid),
            "piles": told,
            **({} if self.question.method in COST_UNSAID else {"cost": self._cost(buyer, len(piles))}),
        }

    def _cost(self, buyer: int, piles: int) -> str:
        """What a stop costs with so many piles."""
        return self._money(self.question.haul.stop(buyer) + self.question.costs.pile * (piles - 1))

    def _pile(self, buyer: int, pile: Pile) -> dict[str, Any]:
        offers, grade = self.question.offers[buyer], pile.place.grade
        by_bin: dict[int, list[int]] = {}
        for at, lot in enumerate(pile.lots):
            by_bin.setdefault(self.question.haul.lots[lot].bin, []).append(at)
        lowered = [
            self.question.bins[number] for number in by_bin if self.question.bins[number].grade != grade
        ]
        ask = None
        if lowered:
            names = listed(list(dict.fromkeys(self._name(each.grade) for each in lowered)))
            ask = f"Ask whether {offers.yard.name} takes {names} as {self._name(grade)}."
        return {
            "grade": grade,
            "grade_name": self._name(grade),
            "labels": list(offers.labels.get(grade, ())),
            **shown_weight(pile.grams),
            "price": offers.prices[grade][pile.step][1].shown,
            "amount": self._amount(pile.amount),
            "bins": [self._part(number, pile, lots) for number, lots in by_bin.items()],
            "ask": ask,
        }

    def _part(self, number: int, pile: Pile, lots: list[int]) -> dict[str, Any]:
        """What of a bin is in a pile."""
        each = self.question.bins[number]
        amounts = [pile.amounts[at] for at in lots]
        grams = sum((self.question.haul.lots[pile.lots[at]].grams for at in lots), Fraction(0))
        return {
            "bin": number,
            "name": each.name,
            "lots": len(lots),
            "lowered": each.grade != pile.place.grade,
            **shown_weight(grams),
            "amount": self._amount(Amount(*(sum(column) for column in zip(*amounts, strict=True)))),
        }

    def _kept(self, found: Reckoned) -> list[dict[str, Any]]:
        haul = self.question.haul
        stays: dict[int, list[int]] = {}
        for number, place in enumerate(found.plan):
            if place is None:
                stays.setdefault(haul.lots[number].bin, []).append(number)
        return [self._stays(found, number, lots) for number, lots in stays.items()]

    def _stays(self, found: Reckoned, number: int, lots: list[int]) -> dict[str, Any]:
        haul, each = self.question.haul, self.question.bins[number]
        grams = sum((haul.lots[lot].grams for lot in lots), Fraction(0))
        goes = self.told.goes_from.get(number)
        why, says = self._why(each, lots[0], goes)
        more = alone(self.question, found, number) if why == "not-worth" else 0
        if more > 0:
            own = f"On a trip of its own it would leave {self._money(more)} more"
            why, says = "no-trip-left", f"{own}, and {how_many(self.question)}"
        return {
            "bin": number,
            "name": each.name,
            "lots": len(lots),
            **shown_weight(grams),
            "why": why,
            "says": says,
            "goes_from": None if goes is None or goes.grams is None else self._goes(goes, goes.grams, grams),
        }

    def _why(self, each: Bin, lot: int, goes: GoesFrom | None) -> tuple[str, str]:
        haul = self.question.haul
        if haul.load is not None and haul.lots[lot].grams > haul.load:
            return (
                "too-heavy",
                f"{'It' if each.lots == 1 else 'A lot of it'} is heavier than a trip carries. Give it as "
                f"{'several' if each.lots == 1 else 'more'} lots if it can be taken apart.",
            )
        if not any(grade in of.prices for of in self.question.offers for grade in each.grades):
            offers = self.question.offers
            refusing = [of.yard.name for of in offers if each.grade in of.refused]
            not_taken = (
                f" {listed(refusing)} do{'es'[: 2 * (len(refusing) == 1)]} not take it." if refusing else ""
            )
            post = "Post what one pays, or ask" if not refusing else "Post what another pays, or ask"
            do = "Ask for other yards" if len(refusing) == len(offers) else f"{post} with estimates"
            has = "has a price of its own that counts"  # one that waits is not shown, but it was posted
            if self.question.method in WAITING_UNSAID:
                has = "has posted a price of its own"
            return "no-price", f"No yard asked about {has} for {self._name(each.grade)}.{not_taken} {do}."
        if not can_go(haul, lot):
            return "too-light", f"It is priced only for larger piles.{self._from(goes)}"
        room = "" if haul.load is None else ", or there is no room for more"
        if not self.told.best.proved:
            within = "" if self.told.best.doubted else " in the time given"
            return "not-worth", f"The best plan found{within} keeps it."
        if goes is None:
            return "not-worth", f"Taking it leaves no more than keeping it, and no weight changes that{room}."
        return "not-worth", f"Taking it leaves no more than keeping it.{self._from(goes)}"

    @staticmethod
    def _from(goes: GoesFrom | None) -> str:
        if goes is None:
            return ""
        if goes.grams is None:
            return " From which weight on it would go was not found; perhaps from none."
        shown = _weight(goes.grams)
        return f" From {shown} on it would go." if goes.proved else f" At {shown} it would go, if not before."

    @staticmethod
    def _goes(goes: GoesFrom, grams: int, now: Fraction) -> dict[str, Any]:
        return {
            **shown_weight(Fraction(grams)),
            "more": shown_weight(grams - now)["shown"],
            "proved": goes.proved,
        }

    def _second(self, told: Told) -> dict[str, Any]:
        """The best of another choice of yards."""
        best, method = told.second, self.question.method
        if best is None:
            says = none_found(told, method)
            return {"yards": None, "left": None, "less": None, "proof": None, "says": says}
        found = reckon(self.question.haul, best.plan)
        offers = [self.question.offers[buyer].yard for buyer in sorted(found.buyers)]
        going = f"Going to {listed([yard.name for yard in offers])}" if offers else "Keeping everything"
        return {
            "yards": [yard.slug for yard in offers],
            "left": self._money(best.worth),
            "less": self._money(told.best.worth - best.worth),
            "proof": self._proof(best, of_these(method)),
            "says": found_less(going, told, best, self._money, method),
        }

    def _cautions(self, found: Reckoned) -> Concerning:
        """Those of every bin, and of every grade that one is sold as."""
        grades = [each.grade for each in self.question.bins] + [pile.place.grade for pile in found.piles]
        return of_grades(self.question.grader, grades)


def listed(names: Sequence[str]) -> str:
    """Names in a sentence: "A", "A and B", "A, B and C"."""
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def _weight(grams: int) -> str:
    return shown_weight(Fraction(grams))["shown"]
