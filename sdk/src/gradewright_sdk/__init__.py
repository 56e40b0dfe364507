"""Gradewright's Python client: grade parts, value part lists, read and post local scrap prices.

    from gradewright_sdk import Client

    with Client("http://127.0.0.1:8000") as client:
        prices = client.prices.list(region="XO-KEL")

Names are loaded when first used, so that importing the package costs next to nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ._client import AsyncClient, Client
    from ._exceptions import (
        APIError,
        Conflict,
        ConnectionFailed,
        CurrencyMismatch,
        Fault,
        Forbidden,
        GradewrightError,
        IdempotencyMismatch,
        InvalidRequest,
        MixedCurrencies,
        NoRulebookInForce,
        NotFound,
        ServerError,
        TimedOut,
        TooManyRequests,
        Unauthorized,
        UnexpectedAnswer,
        UnknownGrade,
        UnknownRegion,
        UnknownYard,
    )
    from ._inputs import Part, PriceSeen
    from ._models import (
        Attribute,
        Basis,
        Candidate,
        Caution,
        ConsistencyProof,
        Correction,
        Family,
        Grade,
        Grading,
        HeldPrice,
        HeldPrices,
        HouseLimit,
        HouseRule,
        HouseRules,
        HouseRulesAdded,
        InclusionProof,
        Kin,
        Label,
        LabelEntry,
        LaterWord,
        LedgerEntry,
        LimitEntry,
        ListChange,
        ListCompared,
        ListCounts,
        ListFault,
        ListFile,
        NearName,
        NextTest,
        PartPrice,
        Pile,
        Pins,
        Point,
        PostedPrice,
        Posting,
        Price,
        PriceBefore,
        PriceEntry,
        PriceList,
        Raise,
        Readiness,
        RefusalEntry,
        Region,
        RegionEntry,
        Rule,
        Rulebook,
        RulebookEntry,
        RulebookSummary,
        Series,
        SeriesFile,
        Spread,
        Tier,
        Totals,
        TraceStep,
        UnitPrice,
        Unpriced,
        Valuation,
        ValuedCandidate,
        ValuedPart,
        Weight,
        WordEntry,
        WordStored,
        Yard,
        YardEntry,
    )
    from ._money import Money
    from ._retry import Retry
    from ._version import __version__

_CLIENTS = ("AsyncClient", "Client")
_ERRORS = (
    "APIError",
    "Conflict",
    "ConnectionFailed",
    "CurrencyMismatch",
    "Fault",
    "Forbidden",
    "GradewrightError",
    "IdempotencyMismatch",
    "InvalidRequest",
    "MixedCurrencies",
    "NoRulebookInForce",
    "NotFound",
    "ServerError",
    "TimedOut",
    "TooManyRequests",
    "Unauthorized",
    "UnexpectedAnswer",
    "UnknownGrade",
    "UnknownRegion",
    "UnknownYard",
)
_INPUTS = ("Part", "PriceSeen")
_RESULTS = (
    "Attribute",
    "Basis",
    "Candidate",
    "Caution",
    "ConsistencyProof",
    "Correction",
    "Family",
    "Grade",
    "Grading",
    "HeldPrice",
    "HeldPrices",
    "HouseLimit",
    "HouseRule",
    "HouseRules",
    "HouseRulesAdded",
    "InclusionProof",
    "Kin",
    "Label",
    "LabelEntry",
    "LaterWord",
    "LedgerEntry",
    "LimitEntry",
    "ListChange",
    "ListCompared",
    "ListCounts",
    "ListFault",
    "ListFile",
    "NearName",
    "NextTest",
    "PartPrice",
    "Pile",
    "Pins",
    "Point",
    "PostedPrice",
    "Posting",
    "Price",
    "PriceBefore",
    "PriceEntry",
    "PriceList",
    "Raise",
    "Readiness",
    "RefusalEntry",
    "Region",
    "RegionEntry",
    "Rule",
    "Rulebook",
    "RulebookEntry",
    "RulebookSummary",
    "Series",
    "SeriesFile",
    "Spread",
    "Tier",
    "Totals",
    "TraceStep",
    "UnitPrice",
    "Unpriced",
    "Valuation",
    "ValuedCandidate",
    "ValuedPart",
    "Weight",
    "WordEntry",
    "WordStored",
    "Yard",
    "YardEntry",
)
_HOMES = {
    **dict.fromkeys(_CLIENTS, "._client"),
    **dict.fromkeys(_ERRORS, "._exceptions"),
    **dict.fromkeys(_INPUTS, "._inputs"),
    **dict.fromkeys(_RESULTS, "._models"),
    "Money": "._money",
    "Retry": "._retry",
    "__version__": "._version",
}

# fmt: off
__all__ = [  # noqa: RUF022 - grouped by what they are
    "AsyncClient", "Client", "Retry", "__version__",
    "Part", "PriceSeen", "Money",
    "GradewrightError", "APIError", "InvalidRequest", "CurrencyMismatch", "NoRulebookInForce",
    "IdempotencyMismatch", "NotFound", "UnknownGrade", "UnknownRegion", "UnknownYard", "Unauthorized",
    "Forbidden", "Conflict", "TooManyRequests", "ServerError", "ConnectionFailed", "TimedOut",
    "UnexpectedAnswer", "MixedCurrencies", "Fault",
    "Attribute", "Basis", "Candidate", "Caution", "Family", "Grade", "Grading", "HouseLimit",
    "HouseRule", "HouseRules", "HouseRulesAdded", "Kin", "Label", "NextTest", "PartPrice", "Pile",
    "Pins", "Point", "PostedPrice", "Posting", "Price", "PriceList", "Raise", "Readiness", "Region",
    "Rule", "Rulebook", "RulebookSummary", "Series", "SeriesFile", "Spread", "Tier", "Totals",
    "TraceStep", "UnitPrice", "Unpriced", "Valuation", "ValuedCandidate", "ValuedPart", "Weight", "Yard",
    "ConsistencyProof", "InclusionProof", "LabelEntry", "LedgerEntry", "LimitEntry", "PriceEntry",
    "RefusalEntry", "RegionEntry", "RulebookEntry", "WordEntry", "YardEntry",
    "ListChange", "ListCompared", "ListCounts", "ListFault", "ListFile", "NearName", "PriceBefore",
    "Correction", "HeldPrice", "HeldPrices", "LaterWord", "WordStored",
]
# fmt: on


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    import importlib

    value = getattr(importlib.import_module(home, __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
