"""How far the best haul found in the time allowed can be from the best, where a trip carries only so much.

    pytest tests/bench/test_haul_trips.py -m bench -s

Forty bins of some 1,200 lb in all, 400 lb to a trip, on as many trips as the service would allow.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil
from time import perf_counter, process_time

import pytest

from gradewright.core.haul.best import best
from gradewright.hauls.question import MOST_TRIPS
from tests.core.haul.hauls import district


@pytest.mark.bench
@pytest.mark.parametrize(("yards", "seconds"), [(3, 5), (3, 20), (12, 5), (12, 20)])
def test_forty_bins_in_trips(yards: int, seconds: int) -> None:
    """The plan found leaves no more than its bound, and in what time, is printed for three hauls."""
    for seed in (1, 2, 3):
        haul = district(seed, 40, yards, load=400)
        assert haul.load is not None
        whole = sum((lot.grams for lot in haul.lots), Fraction(0))
        haul = replace(haul, trips=min(MOST_TRIPS, ceil(2 * whole / haul.load) - 1), hold_back=True)
        clock, processor = perf_counter(), process_time()
        told = best(haul, seconds).best
        clock, processor = perf_counter() - clock, process_time() - processor
        assert told.worth <= told.bound
        gap = 100 * (told.bound - told.worth) / told.worth
        print(
            f"40 bins, {yards} yards, {haul.trips} trips, {seconds} s: proved {told.proved}, "
            f"at most {gap:.2f} % from the best; {clock:.1f} s, {processor:.1f} s of processor time"
        )
