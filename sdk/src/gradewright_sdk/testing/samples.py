"""Well-formed answers to start from, as plain dictionaries; any field can be given. All figures are
invented. Each kind has a file of its own.
"""

from __future__ import annotations

from gradewright_sdk.testing._benchmarks import (
    backtest,
    benchmark,
    benchmark_import,
    benchmark_values,
    moved,
    predictions,
)
from gradewright_sdk.testing._compositions import (
    composition,
    composition_recorded,
    device_kind,
    device_record,
    device_records,
)
from gradewright_sdk.testing._gradings import grading, next_test, rulebook, undecided
from gradewright_sdk.testing._hauls import haul
from gradewright_sdk.testing._places import house_rule, house_rules, house_rules_added, region, yard
from gradewright_sdk.testing._posted import (
    correction,
    held_price,
    held_prices,
    later_word,
    list_change,
    list_compared,
    posted_price,
    posting,
    word_stored,
)
from gradewright_sdk.testing._prices import basis, point, price, price_list, series
from gradewright_sdk.testing._recoveries import recovery
from gradewright_sdk.testing._settlements import (
    markdowns,
    settlement,
    settlement_effects,
    settlement_withdrawn,
)
from gradewright_sdk.testing._shared import SHA
from gradewright_sdk.testing._teardowns import teardown
from gradewright_sdk.testing._valuations import spread, valuation, valued_part

__all__ = [
    "SHA",
    "backtest",
    "basis",
    "benchmark",
    "benchmark_import",
    "benchmark_values",
    "composition",
    "composition_recorded",
    "correction",
    "device_kind",
    "device_record",
    "device_records",
    "grading",
    "haul",
    "held_price",
    "held_prices",
    "house_rule",
    "house_rules",
    "house_rules_added",
    "later_word",
    "list_change",
    "list_compared",
    "markdowns",
    "moved",
    "next_test",
    "point",
    "posted_price",
    "posting",
    "predictions",
    "price",
    "price_list",
    "recovery",
    "region",
    "rulebook",
    "series",
    "settlement",
    "settlement_effects",
    "settlement_withdrawn",
    "spread",
    "teardown",
    "undecided",
    "valuation",
    "valued_part",
    "word_stored",
    "yard",
]
