"""A haul as a mixed-integer programme. Every plan that comes of it is reckoned exactly before it counts.

One yes or no for each lot at each price step of each pile that it may go to, for each such pile, stop and
trip. Worths are whole minor units. Weights are floating-point numbers with a margin, so that what is exactly
on a line is never shut out; a plan that lies beyond the line is seen when it is reckoned, and cut off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import nextafter
from typing import NamedTuple

from gradewright.core.haul.exact import Judged, searched
from gradewright.core.haul.plan import Haul, Place, Plan, Reckoned, reached
from gradewright.core.haul.programme import Programme
from gradewright.core.haul.solver import INFINITY, Guard, Number, Row
from gradewright.core.haul.ways import Free, Way, large, pays_less, rises, worth_looking_at
from gradewright.core.money import Rounding

MARGIN = 1e-9
ONE = Fraction(1)


def exactly(haul: Haul, guard: Guard) -> bool:
    """Whether plans are held in whole numbers, as the amounts are too large for the solver's."""
    return not guard.rough and large(haul)


class Heap(NamedTuple):
    """A pile at one step."""

    place: Place
    step: int


class Solved(NamedTuple):
    """The best plan found, None where none was; the bound; the seconds; whether that is the last word;
    whether the solver contradicts itself.
    """

    plan: Plan | None
    bound: float
    seconds: float
    finished: bool
    doubted: bool = False


@dataclass(slots=True)
class Model:
    """The programme of a haul. `must`: the lots that go in every plan; where None, all that can, unless they
    may be held back. `on`: by lot the one trip on which it may go, None for any. `exact`: whether a pile is
    bounded by whatever later step pays less than its own, and not by the next alone, with cuts for the rest:
    for searches that make none.
    """

    haul: Haul
    free: Free | None = None
    must: frozenset[int] | None = None
    guard: Guard = field(default_factory=Guard)
    on: Sequence[int | None] | None = None
    exact: bool = False
    programme: Programme = field(init=False)
    ways: dict[Way, int] = field(default_factory=dict)
    heaps: dict[Heap, int] = field(default_factory=dict)
    stops: dict[tuple[int, int], int] = field(default_factory=dict)
    visits: dict[int, int] = field(default_factory=dict)
    """By buyer, where another choice of them is asked for: whether it is gone to on any of several trips."""
    trips: list[int] = field(default_factory=list)
    paid: dict[int, int] = field(default_factory=dict)
    share: dict[Way, int] = field(default_factory=dict)
    """Of the free lot: how much of its most it weighs, where it goes that way; else nothing."""

    def __post_init__(self) -> None:
        self.programme = Programme(self.guard, self.exact)
        self.trips = [self.programme.column() for _ in range(self.haul.trips)]
        for buyer in range(len(self.haul.buyers)):
            self._add_ways(buyer)
        self._bind_lots()
        self._bind_heaps()
        self._bind_stops()
        self._bind_trips()

    def worth(self) -> dict[int, float]:
        """What a plan leaves, as an objective: the amounts, but that of a free lot, less the costs."""
        costs = self.haul.costs
        return {
            **self.paid,
            **dict.fromkeys(self.trips, -costs.trip),
            **{column: costs.pile - self.haul.stop(at) for (_, at), column in self.stops.items()},
            **dict.fromkeys(self.heaps.values(), -costs.pile),
        }

    def lightness(self) -> dict[int, float]:
        """How little a plan asks for, as an objective: few trips, then stops, lots that go down, piles."""
        by_trip, by_stop, by_down = self._by_lightness()
        down = [column for way, column in self.ways.items() if self._goes_down(way.lot, way.place)]
        return {
            **dict.fromkeys(self.trips, -by_trip),
            **dict.fromkeys(self.stops.values(), -by_stop),
            **dict.fromkeys(down, -by_down),
            **dict.fromkeys(self.heaps.values(), -1),
        }

    def lightness_of(self, reckoned: Reckoned) -> int:
        """The same of a plan."""
        by_trip, by_stop, by_down = self._by_lightness()
        places = enumerate(reckoned.plan)
        down = sum(place is not None and self._goes_down(lot, place) for lot, place in places)
        piles = len(reckoned.piles)
        return -by_trip * reckoned.trips - by_stop * reckoned.stops - by_down * down - piles

    def _by_lightness(self) -> tuple[int, int, int]:
        by_down = len(self.heaps) + 1
        by_stop = by_down * (len(self.haul.lots) + 1)
        return by_stop * (len(self.stops) + 1), by_stop, by_down

    def _goes_down(self, lot: int, place: Place) -> bool:
        return place.grade != self.haul.lots[lot].grades[0]

    def worth_with_free(self) -> dict[int, Number]:
        """What a plan leaves, with what is paid for a free lot, or a little more."""
        found: dict[int, Number] = dict(self.worth())
        for way, share in self.share.items():
            buyer = self.haul.buyers[way.place.buyer]
            scale = buyer.steps[way.place.grade][way.step].scale
            most = self.free.most if self.free is not None else ONE
            found[share] = Fraction(scale.likely, scale.under) * most
            # Rounded to the nearer, half a minor unit less is enough; a charge is rounded towards nothing.
            up = 0.0 if self.guard.rough or scale.likely >= 0 else 1.0
            found[self.ways[way]] = up if buyer.rounding is Rounding.DOWN else 0.5
        return found

    def leaves(self, at_least: int) -> Row:
        """That a plan leaves so much, with what is paid for a free lot."""
        factors = {column: float(value) for column, value in self.worth_with_free().items()}
        return at_least, factors, INFINITY

    def no_heavier(self, grams: int) -> Row:
        """That a free lot weighs no more."""
        most = self.free.most if self.free is not None else ONE
        return -INFINITY, dict.fromkeys(self.share.values(), 1), nextafter(float(grams / most), INFINITY)

    def another_choice(self, buyers: frozenset[int]) -> Row:
        """That a plan goes to another choice of buyers than this one."""
        factors: dict[int, float] = {}
        for buyer in range(len(self.haul.buyers)):
            stops = [column for (_, at), column in self.stops.items() if at == buyer]
            if not stops:
                continue
            used = self.visits.get(buyer, stops[0])
            if len(stops) > 1 and buyer not in self.visits:
                used = self.visits[buyer] = self.programme.column()
                for stop in stops:
                    self.programme.row(0, {used: 1, stop: -1}, INFINITY)
                self.programme.row(-INFINITY, {used: 1, **dict.fromkeys(stops, -1)}, 0)
            factors[used] = -1 if buyer in buyers else 1
        return 1 - len(buyers), factors, INFINITY

    def most(
        self,
        objective: Mapping[int, float],
        seconds: float,
        *,
        rows: Iterable[Row] = (),
        start: Reckoned | None = None,
        known: float | None = None,
    ) -> Solved:
        """The plan with the most of an objective in whole numbers, or the best found in the work of so many
        seconds. `known`: what some plan comes to, also where it has a way that is not looked at.
        """
        rows, spent = tuple(rows), 0.0
        begun = self._columns_of(start) if start is not None else None
        while True:
            left = seconds - spent
            found = self.programme.most(objective, left, rows=rows, start=begun, known=known)
            spent += found.seconds
            if found.columns is None:
                return Solved(None, found.bound, spent, *found[3:])
            chosen = {way for way, column in self.ways.items() if found.columns[column] > 0.5}
            cuts = list(self._cuts(chosen))
            if not cuts:
                return Solved(self._plan(chosen), found.bound, spent, *found[3:])
            self.programme.rows += cuts

    def searched(
        self,
        objective: Mapping[int, Number],
        least: int,
        seconds: float,
        judged: Callable[[Plan], Judged],
        rows: Iterable[Row] = (),
    ) -> tuple[bool, float]:
        """Whether no plan that may come to `least` or more is left, whatever the solver says, and the seconds
        that it took to tell. Each that may is `judged`.
        """

        def by_plan(columns: Sequence[float]) -> Judged:
            return judged(self._plan(way for way, column in self.ways.items() if columns[column] > 0.5))

        return searched(self.programme.asked(objective, rows), least, seconds, self.guard, by_plan)

    def least_share(self, at_least: int, seconds: float, known: float | None = None) -> Solved:
        """The plan that leaves so much with the least weight of the free lot; the bound is that weight's, as
        a share of its most. `known`: such a share with which some plan does.
        """
        objective, rows = dict.fromkeys(self.share.values(), -1.0), (self.leaves(at_least),)
        most = None if known is None else -known
        found = self.programme.most(objective, seconds, rows=rows, gap=MARGIN, known=most)
        if found.columns is None:
            return Solved(None, *found[1:])
        chosen = {way for way, column in self.ways.items() if found.columns[column] > 0.5}
        return Solved(self._plan(chosen), -found.bound, *found[2:])

    def _add_ways(self, buyer: int) -> None:
        """Every way to a buyer that is worth looking at."""
        for (lot, grade, step), amount in worth_looking_at(self.haul, buyer, self.free).items():
            # Trips are alike: the first lot goes on the first, the next on one of two, and so on.
            for trip in range(min(self.haul.trips, lot + 1)):
                if self.on is not None and self.on[lot] not in {None, trip}:
                    continue
                way = Way(lot, Place(trip, buyer, grade), step)
                self.ways[way] = self.programme.column()
                if self.free is not None and self.free.lot == lot:
                    self.share[way] = self.programme.column(whole=False)
                else:
                    self.paid[self.ways[way]] = amount

    def shut_out(self, plan: Plan) -> None:
        """No more of a plan."""
        self.programme.row(*self.but_for(plan))

    def but_for(self, plan: Plan) -> Row:
        """That it is another plan: some lot goes another way, or stays, or another goes too."""
        factors = {column: 1 if plan[way.lot] == way.place else -1 for way, column in self.ways.items()}
        goes = sum(place is not None for place in plan)
        return -INFINITY, factors, goes - 1

    def _bind_lots(self) -> None:
        """A lot goes to one place, or stays if it may. A free one weighs something only where it goes."""
        of_lot: dict[int, list[int]] = {}
        for way, column in self.ways.items():
            of_lot.setdefault(way.lot, []).append(column)
        for lot, columns in of_lot.items():
            must = not self.haul.hold_back if self.must is None else lot in self.must
            self.programme.row(int(must), dict.fromkeys(columns, 1), 1)
        for way, share in self.share.items():
            self.programme.row(-INFINITY, {share: 1, self.ways[way]: -1}, 0)
        if self.free is not None:
            least = float(self.free.least / self.free.most)
            least = least if self.guard.rough else nextafter(least, -INFINITY)
            self.programme.row(least, dict.fromkeys(self.share.values(), 1), INFINITY)

    def _bind_heaps(self) -> None:
        """A pile is where a lot is, and its weight reaches its step."""
        of_heap: dict[Heap, list[Way]] = {}
        for way in self.ways:
            of_heap.setdefault(Heap(way.place, way.step), []).append(way)
        for heap, ways in of_heap.items():
            used = self.heaps[heap] = self.programme.column()
            for way in ways:
                self.programme.row(-INFINITY, {self.ways[way]: 1, used: -1}, 0)
            self.programme.row(0, {**{self.ways[way]: 1 for way in ways}, used: -1}, INFINITY)
            steps = self.haul.buyers[heap.place.buyer].steps[heap.place.grade]
            at_least = steps[heap.step].from_grams
            if at_least:
                weights = self._weights(ways, at_least, at_most=ONE)
                self.programme.row(-MARGIN, {**weights, used: -1}, INFINITY)
            less = pays_less(steps, heap.step)
            if less is not None and (self.exact or less == heap.step + 1):
                weights = self._weights(ways, steps[less].from_grams)
                self.programme.row(-INFINITY, {**weights, used: -1}, MARGIN)

    def _weights(
        self, ways: Iterable[Way], unit: Fraction, *, at_most: Fraction | None = None
    ) -> dict[int, float]:
        """The weight that each way brings, in units of another."""
        found: dict[int, float] = {}
        for way in ways:
            if way in self.share and self.free is not None:
                found[self.share[way]] = float(self.free.most / unit)
                continue
            weight = self.haul.lots[way.lot].grams / unit
            found[self.ways[way]] = float(weight if at_most is None else min(weight, at_most))
        return found

    def _bind_stops(self) -> None:
        """A stop is where a pile is, each at one step; a lot that goes there needs the stop."""
        of_stop: dict[tuple[int, int], dict[str, list[int]]] = {}
        for (place, _), used in self.heaps.items():
            of_stop.setdefault((place.trip, place.buyer), {}).setdefault(place.grade, []).append(used)
        for stop, grades in of_stop.items():
            used = self.stops[stop] = self.programme.column()
            for heaps in grades.values():
                self.programme.row(-INFINITY, {**dict.fromkeys(heaps, 1), used: -1}, 0)
            every = [heap for heaps in grades.values() for heap in heaps]
            self.programme.row(0, {**dict.fromkeys(every, 1), used: -1}, INFINITY)
        of_lot: dict[tuple[int, int, int], list[int]] = {}
        for way, column in self.ways.items():
            of_lot.setdefault((way.lot, way.place.trip, way.place.buyer), []).append(column)
        for (_, trip, buyer), columns in of_lot.items():
            if len(columns) > 1:
                used = self.stops[trip, buyer]
                self.programme.row(-INFINITY, {**dict.fromkeys(columns, 1), used: -1}, 0)

    def _bind_trips(self) -> None:
        """A trip is where a stop is; it carries what it may; none is made before the one before it."""
        for (trip, _), stop in self.stops.items():
            self.programme.row(-INFINITY, {stop: 1, self.trips[trip]: -1}, 0)
        for trip, used in enumerate(self.trips):
            stops = [stop for (on, _), stop in self.stops.items() if on == trip]
            self.programme.row(0, {**dict.fromkeys(stops, 1), used: -1}, INFINITY)
            if trip:
                self.programme.row(0, {self.trips[trip - 1]: 1, used: -1}, INFINITY)
            if self.haul.load is not None:
                weights = self._weights([way for way in self.ways if way.place.trip == trip], self.haul.load)
                self.programme.row(-INFINITY, {**weights, used: -1}, MARGIN)

    def _columns_of(self, reckoned: Reckoned) -> list[int] | None:
        """The columns that are yes in a plan; None where it has a way that is not looked at."""
        found: set[int] = set()
        for pile in reckoned.piles:
            place = pile.place
            for lot in pile.lots:
                way = self.ways.get(Way(lot, place, pile.step))
                if way is None:
                    return None
                found.add(way)
            stop = self.stops[place.trip, place.buyer]
            found |= {self.heaps[Heap(place, pile.step)], stop, self.trips[place.trip]}
            if place.buyer in self.visits:
                found.add(self.visits[place.buyer])
        return sorted(found)

    def _plan(self, chosen: Iterable[Way]) -> Plan:
        plan: list[Place | None] = [None] * len(self.haul.lots)
        for way in chosen:
            plan[way.lot] = way.place
        return tuple(plan)

    def _cuts(self, chosen: Iterable[Way]) -> Iterable[Row]:
        """What shuts out a choice that only the margin has let in; it holds for every plan."""
        piles: dict[Heap, list[int]] = {}
        aboard: dict[int, list[int]] = {}
        for way in chosen:
            piles.setdefault(Heap(way.place, way.step), []).append(way.lot)
            aboard.setdefault(way.place.trip, []).append(way.lot)
        for heap, lots in piles.items():
            steps = self.haul.buyers[heap.place.buyer].steps[heap.place.grade]
            real = reached(steps, self._grams(lots))
            there = {way.lot: column for way, column in self.ways.items() if way[1:] == heap}
            if real is None or real < heap.step:
                others = [column for lot, column in there.items() if lot not in lots]
                yield 0, {**dict.fromkeys(others, 1), self.heaps[heap]: -1}, INFINITY
            elif real > heap.step and not rises(steps[heap.step : real + 1]):
                yield -INFINITY, {there[lot]: 1 for lot in lots}, len(lots) - 1
        for trip, lots in aboard.items():
            if self.haul.load is not None and self._grams(lots) > self.haul.load:
                same = [
                    column for way, column in self.ways.items() if way.place.trip == trip and way.lot in lots
                ]
                yield -INFINITY, dict.fromkeys(same, 1), len(lots) - 1

    def _grams(self, lots: Iterable[int]) -> Fraction:
        return sum((self.haul.lots[lot].grams for lot in lots), Fraction(0))
