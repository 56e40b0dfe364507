"""What the package offers, and what importing it loads."""

from __future__ import annotations

import inspect
import subprocess
import sys
import tomllib
import typing
from pathlib import Path

import pytest

import gradewright_sdk
from gradewright_sdk import AsyncClient, Client
from gradewright_sdk._base import AsyncResource, Resource
from gradewright_sdk.testing import FakeGradewright

PUBLIC = [
    "AsyncClient",
    "Client",
    "Retry",
    "__version__",
    "Part",
    "PriceSeen",
    "Money",
    "GradewrightError",
    "APIError",
    "InvalidRequest",
    "CurrencyMismatch",
    "NoRulebookInForce",
    "IdempotencyMismatch",
    "NotFound",
    "UnknownGrade",
    "UnknownRegion",
    "UnknownYard",
    "UnknownBenchmark",
    "UnknownDeviceKind",
    "Unauthorized",
    "Forbidden",
    "Conflict",
    "TooManyRequests",
    "ServerError",
    "ConnectionFailed",
    "TimedOut",
    "UnexpectedAnswer",
    "MixedCurrencies",
    "Fault",
    "Alike",
    "Attribute",
    "Basis",
    "Candidate",
    "Caution",
    "Family",
    "Grade",
    "Grading",
    "HouseLimit",
    "HouseRule",
    "HouseRules",
    "HouseRulesAdded",
    "Kin",
    "Label",
    "NextTest",
    "NotTaken",
    "NotWorth",
    "PartPrice",
    "Pile",
    "Pins",
    "Point",
    "PostedPrice",
    "Posting",
    "Price",
    "PriceList",
    "Raise",
    "RaiseStep",
    "Readiness",
    "Region",
    "Rule",
    "Rulebook",
    "RulebookSummary",
    "Series",
    "SeriesFile",
    "Shed",
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
    "Yard",
    "Pointer",
    "ShortOf",
    "ConsistencyProof",
    "InclusionProof",
    "LabelEntry",
    "LedgerEntry",
    "LimitEntry",
    "PriceEntry",
    "RefusalEntry",
    "RegionEntry",
    "RulebookEntry",
    "RulebookFinding",
    "RulebookProof",
    "WordEntry",
    "YardEntry",
    "ListChange",
    "ListCompared",
    "ListCounts",
    "ListFault",
    "ListFile",
    "NearName",
    "PriceBefore",
    "Backtest",
    "Benchmark",
    "BenchmarkChange",
    "BenchmarkEntry",
    "BenchmarkFile",
    "BenchmarkImport",
    "BenchmarkValue",
    "BenchmarkValues",
    "Moved",
    "MovedLikely",
    "Predicted",
    "Predictions",
    "ReadingEntry",
    "Composition",
    "CompositionRecorded",
    "CompositionRest",
    "CompositionWithdrawn",
    "DeviceKind",
    "DeviceKindCorrected",
    "DeviceRecord",
    "DeviceRecords",
    "Likely",
    "RecordWithdrawn",
    "RecordedPart",
    "SharesRestOn",
    "TypicalPart",
    "ComponentEntry",
    "CompositionEntry",
    "CompositionWithdrawalEntry",
    "DeviceKindEntry",
    "DeviceKindCorrectionEntry",
    "Correction",
    "HeldPrice",
    "HeldPrices",
    "LaterWord",
    "WordStored",
    "Draft",
    "DraftChange",
    "DraftCheck",
    "DraftEnding",
    "DraftFault",
    "DraftFile",
    "DraftSource",
    "DraftStep",
    "DraftTaken",
    "RulePair",
    "WholeDraft",
    "ComparedBesides",
    "ComparedEnd",
    "ComparedWay",
    "ComparedEnds",
    "ComparedMove",
    "ComparedPlaces",
    "ComparedTogether",
    "RenamedGrade",
    "ComparedGrades",
    "MovedLimit",
    "MovedName",
    "ChangedValue",
    "RulebookComparison",
    "ImpactQuartiles",
    "MovedTotal",
    "OneSidedTotal",
    "ImpactBeside",
    "ImpactPlace",
    "MovedParts",
    "CurrencyImpact",
    "ImpactValued",
    "MovedPart",
    "DraftImpact",
    "Stale",
    "UnsoundRulebook",
    "TakingOff",
    "Teardown",
    "TeardownCaution",
    "TeardownChange",
    "TeardownCharge",
    "TeardownLeft",
    "TeardownLicence",
    "TeardownNode",
    "TeardownOpening",
    "TeardownPile",
    "TeardownPrice",
    "TeardownStep",
    "TeardownStop",
    "TeardownThen",
    "TeardownTogether",
    "TeardownUnnamed",
    "TeardownWeight",
    "UnnamedLimit",
    "UnweighedPart",
    "UsualDevice",
    "UsualMinutes",
    "UsualWeight",
    "Weighing",
    "BinWeight",
    "GoesFrom",
    "Haul",
    "HaulBin",
    "HaulCosts",
    "HaulPile",
    "HaulProof",
    "HaulStop",
    "HaulTrip",
    "KeptBin",
    "PiledBin",
    "SecondChoice",
    "CopperShare",
    "Density",
    "Ends",
    "Figures",
    "GradeBand",
    "PaidEnds",
    "PossibleMetal",
    "PreciousMetal",
    "PreciousMetals",
    "PublishedDensity",
    "Recovery",
    "SpannedGrading",
    "Stripping",
    "BinMarkedDown",
    "ExpectedPrice",
    "GradeMarkedDown",
    "Markdowns",
    "MarkedBy",
    "MarkedDown",
    "MarkedOften",
    "MatchMeant",
    "MayBeMarkedDown",
    "SettledAgainst",
    "SettledBin",
    "SettledBinName",
    "SettledGroup",
    "Settlement",
    "SettlementEffects",
    "SettlementWithdrawn",
    "TicketCharge",
    "TicketFlaw",
    "TicketLine",
    "TicketUnmatched",
    "TicketWeight",
    "UnclearTicketLine",
]
METHODS = {
    "benchmarks": ["add_values", "create", "csv", "get", "list"],
    "compositions": ["correct", "get", "kinds", "record", "records", "withdraw"],
    "drafts": [
        "approve",
        "check",
        "compare",
        "create",
        "get",
        "impact",
        "list",
        "patch",
        "refuse",
        "replace",
        "step",
        "submit",
        "withdraw",
        "yaml",
    ],
    "gradings": ["grade"],
    "ledger": ["checkpoint", "consistency", "entries", "follow", "inclusion", "key"],
    "lists": ["export", "upload"],
    "postings": [
        "confirm",
        "correct",
        "create",
        "decide",
        "dispute",
        "get",
        "held",
        "list",
        "prices",
        "withdraw",
    ],
    "prices": ["backtest", "chart", "list", "series", "series_csv"],
    "regions": ["add_house_rules", "create", "get", "house_rules", "list"],
    "rulebooks": ["compare", "get", "in_force", "list", "page", "proof"],
    "service": ["ready"],
    "hauls": ["get", "plan", "replay"],
    "recoveries": ["assay", "cable", "density", "get", "replay", "sample"],
    "teardowns": ["get", "of", "plan", "replay"],
    "valuations": ["get", "replay", "value"],
    "yards": ["add_house_rules", "create", "get", "house_rules", "list"],
    "settlements": ["get", "markdowns", "replay", "settle", "withdraw"],
}


def test_public_list() -> None:
    """The public names are exactly these: adding or losing one is decided here."""
    assert sorted(gradewright_sdk.__all__) == sorted(PUBLIC)


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_loads(name: str) -> None:
    """Each public name can be loaded, and a class says in its docstring what it is."""
    found = getattr(gradewright_sdk, name)
    assert not inspect.isclass(found) or found.__doc__


def test_unknown_name() -> None:
    """A name that is not there is an AttributeError that says so."""
    with pytest.raises(AttributeError, match="no attribute 'Clinet'"):
        gradewright_sdk.Clinet  # noqa: B018


def test_dir_lists_public_names() -> None:
    """dir() knows the names that are not loaded yet."""
    assert set(PUBLIC) <= set(dir(gradewright_sdk))


def test_version_is_that_of_the_distribution() -> None:
    """The package says the version that its distribution is built as."""
    project = tomllib.loads((Path(gradewright_sdk.__file__).parents[2] / "pyproject.toml").read_text())[
        "project"
    ]
    assert project["version"] == gradewright_sdk.__version__


def loaded_by(statement: str) -> set[str]:
    code = f"import sys; {statement}; print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_import_is_light() -> None:
    """Importing the package loads none of the libraries it stands on."""
    heavy = {
        "typer",
        "rich",
        "httpx",
        "pydantic",
        "anyio",
        "gradewright_sdk._client",
        "gradewright_sdk._models",
    }
    assert not heavy & loaded_by("import gradewright_sdk")


def test_importing_the_client_leaves_the_results_for_later() -> None:
    """Importing the client loads httpx but neither the result types nor what the command line needs."""
    loaded = loaded_by("from gradewright_sdk import AsyncClient, Client")
    assert "httpx" in loaded
    assert not {"typer", "pydantic", "gradewright_sdk._models", "gradewright_sdk.cli"} & loaded


def test_sdk_never_loads_the_service() -> None:
    """All of the SDK, its command line and test double included, loads nothing of the service."""
    loaded = loaded_by("import gradewright_sdk.cli, gradewright_sdk.testing, gradewright_sdk._models")
    assert not {name for name in loaded if name.partition(".")[0] == "gradewright"}


def resources(client: object, kind: type) -> dict[str, object]:
    return {name: value for name, value in vars(client).items() if isinstance(value, kind)}


def methods(resource: object) -> list[str]:
    return sorted(name for name in dir(resource) if not name.startswith("_"))


def test_both_clients_have_the_same_methods() -> None:
    """Client and AsyncClient have the same resources with the same methods: these."""
    fake = FakeGradewright()
    one, other = resources(fake.client(), Resource), resources(fake.async_client(), AsyncResource)
    assert {name: methods(resource) for name, resource in one.items()} == METHODS
    assert {name: methods(resource) for name, resource in other.items()} == METHODS


@pytest.mark.parametrize(
    ("resource", "method"), [(name, one) for name, all_ in METHODS.items() for one in all_]
)
def test_both_clients_have_the_same_signatures(resource: str, method: str) -> None:
    """A method takes the same parameters in both clients, returns the same type, and says the same of
    itself.
    """
    fake = FakeGradewright()
    one = getattr(getattr(fake.client(), resource), method)
    other = getattr(getattr(fake.async_client(), resource), method)
    signatures = inspect.signature(one), inspect.signature(other)
    assert signatures[0].parameters == signatures[1].parameters
    assert "timeout" in signatures[0].parameters
    returns = [signature.return_annotation for signature in signatures]
    assert returns[1] == returns[0] or returns[1] == f"Async{returns[0]}"
    assert one.__doc__ == other.__doc__
    assert one.__doc__
    assert one.__name__ == method
    paged = returns[1].startswith("AsyncIterator")
    assert inspect.iscoroutinefunction(other) is not paged


def test_both_clients_are_made_alike() -> None:
    """Both clients take the same arguments; only the kinds of http client and sleep differ."""
    one, other = inspect.signature(Client).parameters, inspect.signature(AsyncClient).parameters
    assert list(one) == list(other)
    assert {n: p.kind for n, p in one.items()} == {n: p.kind for n, p in other.items()}
    hints = typing.get_type_hints(Client.__init__)
    assert hints["base_url"] == str | None
