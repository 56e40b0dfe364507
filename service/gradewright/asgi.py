"""The application: the one place where everything is wired."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from typing import Any

import structlog
from litestar import Litestar, MediaType, Response, get
from litestar.datastructures import State
from litestar.di import Provide
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from gradewright import __version__, collector, logs
from gradewright.accounts import guards
from gradewright.accounts.service import AccountService
from gradewright.benchmarks.controller import BenchmarkController
from gradewright.benchmarks.service import BenchmarkService
from gradewright.clock import Clock, utc_now
from gradewright.compositions.controller import CompositionController
from gradewright.compositions.service import CompositionService
from gradewright.core.errors import KeyRefused, NoRulebook
from gradewright.db import replays
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.drafts.controller import DraftController
from gradewright.drafts.origins import DraftOrigins
from gradewright.drafts.proof_controller import rulebook_proof
from gradewright.drafts.proving import Proofs
from gradewright.drafts.published import PublishedProofs
from gradewright.drafts.service import DraftService
from gradewright.drafts.step_controller import DraftStepController
from gradewright.hauls.controller import HaulController
from gradewright.hauls.service import HaulService
from gradewright.health import healthz, readyz
from gradewright.impacts.controller import look_at_impact
from gradewright.impacts.service import ImpactService
from gradewright.ledger.controller import ProofController
from gradewright.ledger.events import Events
from gradewright.ledger.feed import Feed
from gradewright.ledger.feed_controller import FeedController
from gradewright.ledger.service import LedgerService
from gradewright.prices.backtest import BacktestService
from gradewright.prices.board import Board
from gradewright.prices.charts import Charts
from gradewright.prices.controller import PriceController
from gradewright.prices.later import LaterWords
from gradewright.prices.later_controller import LaterController, held_prices
from gradewright.prices.list_controller import ListController
from gradewright.prices.lists import ListService
from gradewright.prices.posting_controller import PostingController
from gradewright.prices.postings import PostingService
from gradewright.prices.series import SeriesService
from gradewright.prices.series_controller import region_series, yard_series
from gradewright.prices.service import PriceService
from gradewright.prices.views import PostingViews
from gradewright.recoveries.controller import RecoveryController
from gradewright.recoveries.service import RecoveryService
from gradewright.regions.controller import RegionController
from gradewright.regions.service import RegionService
from gradewright.rulebooks.comparing import Comparing
from gradewright.rulebooks.comparison_controller import compare_rulebooks
from gradewright.rulebooks.comparisons import ComparisonService
from gradewright.rulebooks.controller import RulebookController
from gradewright.rulebooks.page_controller import rulebook_page
from gradewright.rulebooks.printed import PrintedRulebooks
from gradewright.rulebooks.service import RulebookService
from gradewright.settings import Settings
from gradewright.settlements.controller import SettlementController, yard_markdowns
from gradewright.settlements.service import SettlementService
from gradewright.settlements.working import SettlementWork
from gradewright.stopping import on_signal
from gradewright.teardowns.controller import TeardownController
from gradewright.teardowns.service import TeardownService
from gradewright.valuations.controller import GradingController, ValuationController
from gradewright.valuations.gradings import GradingService
from gradewright.valuations.service import ValuationService
from gradewright.web.errors import exception_handlers
from gradewright.web.limits import Limiter
from gradewright.web.openapi import describe
from gradewright.web.pages import problem_kind
from gradewright.web.requests import StrictBody, before_request
from gradewright.web.responses import JsonResponse
from gradewright.web.routing import Edge
from gradewright.yards.controller import YardController
from gradewright.yards.house_controller import RegionHouseRuleController, YardHouseRuleController
from gradewright.yards.house_rules import HouseRuleService
from gradewright.yards.service import YardService

CONTROLLERS: list[Any] = [
    healthz,
    readyz,
    problem_kind,
    RegionController,
    YardController,
    RegionHouseRuleController,
    YardHouseRuleController,
    BenchmarkController,
    CompositionController,
    PostingController,
    LaterController,
    held_prices,
    ListController,
    PriceController,
    region_series,
    yard_series,
    RulebookController,
    compare_rulebooks,
    rulebook_proof,
    rulebook_page,
    DraftController,
    DraftStepController,
    look_at_impact,
    GradingController,
    ValuationController,
    TeardownController,
    HaulController,
    SettlementController,
    yard_markdowns,
    RecoveryController,
    ProofController,
    FeedController,
]
"""Every operation of the interface; a new concept adds its controller here."""

log = structlog.get_logger("gradewright.start")
UNAVAILABLE = (OperationalError, InterfaceError, PoolTimeout)
REPLAYS_KEPT = timedelta(days=30)
ABOUT = (
    "Regional scrap price lists with their whole history, a versioned grading rulebook, and valuations of "
    "part lists. Decimals travel as strings; every fault is a problem of RFC 9457."
)


@dataclass(frozen=True, slots=True)
class Services:
    """What operations work with; each field can be asked for by its name in a handler's signature."""

    database: Database
    clock: Clock
    accounts: AccountService
    regions: RegionService
    yards: YardService
    house_rules: HouseRuleService
    benchmarks: BenchmarkService
    compositions: CompositionService
    rulebooks: RulebookService
    comparing: Comparing
    comparisons: ComparisonService
    printed: PrintedRulebooks
    origins: DraftOrigins
    proofs: PublishedProofs
    drafts: DraftService
    impacts: ImpactService
    prices: PriceService
    series: SeriesService
    backtests: BacktestService
    charts: Charts
    postings: PostingService
    views: PostingViews
    later: LaterWords
    lists: ListService
    ledger: LedgerService
    feed: Feed
    events: Events
    gradings: GradingService
    valuations: ValuationService
    teardowns: TeardownService
    hauls: HaulService
    settlements: SettlementService
    recoveries: RecoveryService


def make_services(settings: Settings, clock: Clock) -> Services:
    """Builds every service on one database. Connects to nothing yet."""
    database = Database(
        settings.database_url,
        pool_size=settings.pool_size,
        poll_seconds=settings.ledger_poll_seconds,
    )
    regions = RegionService(database)
    rulebooks = RulebookService(database)
    yards = YardService(database, regions, rulebooks)
    benchmarks = BenchmarkService(database)
    board = Board(database, yards, benchmarks)
    prices = PriceService(database, yards, board)
    compositions = CompositionService(database, regions, rulebooks)
    postings = PostingService(database, yards, rulebooks, clock)
    comparing = Comparing(database, clock)
    proofs = Proofs(database, yards)
    drafts = DraftService(database, rulebooks, proofs, comparing, clock)
    feed = Feed(database)
    ledger = LedgerService(database, settings)
    valuations = ValuationService(database, prices, rulebooks, ledger, clock, compositions)
    views = PostingViews(database, yards, rulebooks, board, clock)
    later = LaterWords(database, postings, clock)
    work = SettlementWork(prices, rulebooks, valuations, postings)
    return Services(
        database=database,
        clock=clock,
        accounts=AccountService(database),
        regions=regions,
        yards=yards,
        house_rules=HouseRuleService(database, regions, yards, rulebooks),
        benchmarks=benchmarks,
        compositions=compositions,
        rulebooks=rulebooks,
        comparing=comparing,
        comparisons=ComparisonService(rulebooks, comparing),
        printed=PrintedRulebooks(rulebooks),
        origins=DraftOrigins(database),
        proofs=PublishedProofs(rulebooks, proofs, clock),
        drafts=drafts,
        impacts=ImpactService(database, yards, benchmarks, rulebooks, drafts),
        prices=prices,
        series=SeriesService(database, yards, benchmarks),
        backtests=BacktestService(database, yards, rulebooks, benchmarks),
        charts=Charts(),
        postings=postings,
        views=views,
        later=later,
        lists=ListService(database, yards, rulebooks, benchmarks, prices, postings, clock),
        ledger=ledger,
        feed=feed,
        events=Events(feed, settings.ledger_poll_seconds),
        gradings=GradingService(prices, rulebooks, clock),
        valuations=valuations,
        hauls=HaulService(database, prices, rulebooks, valuations, ledger, clock),
        teardowns=TeardownService(database, prices, compositions, rulebooks, ledger, clock),
        settlements=SettlementService(database, work, yards, postings, later, views, ledger, clock),
        recoveries=RecoveryService(database, prices, benchmarks, rulebooks, ledger, clock),
    )


def create_app(settings: Settings | None = None, *, clock: Clock = utc_now) -> Litestar:
    """The application over one database. `settings`: from the environment where None."""
    settings = settings or Settings.from_environment()
    services = make_services(settings, clock)
    state = State(_state(services), deep_copy=False)

    @asynccontextmanager
    async def lifespan(app: Litestar) -> AsyncIterator[None]:
        services: Services = app.state["services"]
        services.events.open()
        services.comparing.open()
        services.hauls.open()
        try:
            yield
        finally:
            services.charts.close()
            services.comparing.close()
            services.hauls.close()
            await services.events.closed()
            await services.database.close()

    app = Litestar(
        route_handlers=[*CONTROLLERS, _openapi_json],
        lifespan=[lifespan],
        state=state,
        dependencies={name: _given(state, name) for name in Services.__slots__},
        exception_handlers=exception_handlers(unavailable=UNAVAILABLE),
        before_request=before_request,
        dto=StrictBody,
        return_dto=None,
        response_class=JsonResponse,
        request_max_body_size=settings.max_body_bytes,
        openapi_config=None,
        logging_config=None,
    )
    limit = settings.requests_per_minute
    app.asgi_handler = Edge(
        app,
        app.asgi_handler,
        log_requests=settings.log_requests,
        limiter=Limiter(limit, partial(_holder, services.accounts)) if limit else None,
    )
    return app


def install(app: Litestar, services: Services) -> None:
    """Has the application work with other services, from its next request on."""
    app.state.update(_state(services))


def serving() -> Litestar:
    """The application as a server starts it: by the environment, with its log, old answers dropped."""
    settings = Settings.from_environment()
    logs.configure(as_json=settings.log_json)
    app = create_app(settings)
    services: Services = app.state["services"]
    app.on_startup += [
        partial(forget_old_replays, services),
        partial(warm_up, services),
        collector.stays,
        partial(on_signal, services.events.close),
        partial(on_signal, services.hauls.close),
    ]
    return app


def openapi_document(app: Litestar) -> dict[str, Any]:
    """The description of the interface, as it is served and as it is committed."""
    return describe(app, title="Gradewright", version=__version__, description=ABOUT)


async def forget_old_replays(services: Services) -> None:
    """Drops the answers that no retry will ask for any more, where anything can be dropped."""
    try:
        async with services.database.write() as session:
            await replays.forget(session, services.clock() - REPLAYS_KEPT)
    except ReadOnlyDatabase as error:
        log.warning("reads only", detail=error.detail)


@get("/v1/openapi.json", include_in_schema=False, sync_to_thread=False)
def _openapi_json(request: guards.Connection) -> Response[bytes]:
    """The description of the interface."""
    state = request.app.state
    if "openapi" not in state:
        state["openapi"] = json.dumps(openapi_document(request.app), ensure_ascii=False).encode()
    return Response(state["openapi"], media_type=MediaType.JSON)


async def warm_up(services: Services) -> None:
    """Makes ready what every answer needs: the rulebook of the day. Tells where there is none yet."""
    try:
        await services.rulebooks.in_force(services.clock().date())
    except NoRulebook as error:
        log.warning("nothing can be graded yet", detail=error.detail)


async def _holder(accounts: AccountService, key: str) -> str | None:
    """The handle of a valid key's account; None too while the database does not answer."""
    try:
        return (await accounts.holder(key)).handle
    except (KeyRefused, *UNAVAILABLE):
        return None


def _state(services: Services) -> dict[str, Any]:
    return {guards.STATE_KEY: services.accounts, "services": services}


def _given(state: State, name: str) -> Provide:
    async def provide() -> Any:
        return getattr(state["services"], name)

    return Provide(provide)
