"""When a call is tried again: with a clock that only the test moves."""

from __future__ import annotations

import inspect
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

import gradewright_sdk as gw
from gradewright_sdk import AsyncClient, Client, Part, Retry
from gradewright_sdk._base import Call
from gradewright_sdk._retry import retry_after
from gradewright_sdk.testing import FakeGradewright, samples


class Clock:
    """Seconds that pass only when a test, or a wait, lets them."""

    def __init__(self) -> None:
        self.now = 100.0
        self.waits: list[float] = []

    def __call__(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.waits.append(seconds)
        self.now += seconds


Asker = Callable[..., Any]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(params=["sync", "async"])
def ask(request: pytest.FixtureRequest, fake: FakeGradewright, clock: Clock) -> Asker:
    """Makes one call with either client: ask(lambda client: client.regions.list())."""

    async def ask(call: Callable[[Any], Any], **settings: Any) -> Any:
        settings = {"clock": clock, "retry": Retry(random=lambda: 1.0), **settings}
        if request.param == "sync":
            with fake.client(sleep=clock.sleep, **settings) as client:
                return call(client)

        async def sleep(seconds: float) -> None:
            clock.sleep(seconds)

        async with fake.async_client(sleep=sleep, **settings) as async_client:
            answer = call(async_client)
            return await answer if inspect.isawaitable(answer) else answer

    return ask


def regions(client: Any) -> Any:
    return client.regions.list()


@pytest.mark.parametrize("slug", ["too-many-requests", "unavailable"])
async def test_tries_again_until_it_works(ask: Asker, fake: FakeGradewright, clock: Clock, slug: str) -> None:
    """After 429 or 503 a safe call is tried again, waiting twice as long each time."""
    fake.answer("GET", "/v1/regions", {"regions": [samples.region()]})
    fake.problem("GET", "/v1/regions", slug, times=3)
    found = await ask(regions)
    assert [region.code for region in found] == ["XO-KEL"]
    assert clock.waits == [0.25, 0.5, 1.0]


@pytest.mark.parametrize("status", [502, 504])
async def test_tries_again_behind_a_failing_proxy(ask: Asker, fake: FakeGradewright, status: int) -> None:
    """502 and 504 are tried again, also when they are a proxy's page."""
    fake.answer("GET", "/v1/regions", {"regions": []})
    fake.answer(
        "GET", "/v1/regions", b"<html>", status=status, headers={"Content-Type": "text/html"}, times=1
    )
    assert await ask(regions) == ()
    assert len(fake.requests) == 2


async def test_tries_again_after_a_lost_connection(ask: Asker, fake: FakeGradewright) -> None:
    """A connection that fails is tried again under the same request id."""
    fake.answer("GET", "/v1/regions", {"regions": []})
    fake.lose("GET", "/v1/regions", times=2)
    assert await ask(regions) == ()
    assert len(fake.requests) == 3
    assert len({request.headers["x-request-id"] for request in fake.requests}) == 1


@pytest.mark.parametrize("slug", ["internal-error", "invalid-request", "not-found", "conflict"])
async def test_other_failures_are_told_at_once(ask: Asker, fake: FakeGradewright, slug: str) -> None:
    """What trying again does not mend is not tried again."""
    fake.problem("GET", "/v1/regions", slug)
    with pytest.raises(gw.APIError):
        await ask(regions)
    assert len(fake.requests) == 1


async def test_gives_up_after_so_many_tries(ask: Asker, fake: FakeGradewright, clock: Clock) -> None:
    """After the last try the last problem is raised, and says how often it was tried."""
    fake.problem("GET", "/v1/regions", "unavailable")
    with pytest.raises(gw.ServerError) as caught:
        await ask(regions, retry=Retry(times=2, random=lambda: 1.0))
    assert caught.value.attempts == 3
    assert clock.waits == [0.25, 0.5]


async def test_zero_retries(ask: Asker, fake: FakeGradewright, clock: Clock) -> None:
    """Retries can be turned off."""
    fake.lose("GET", "/v1/regions")
    with pytest.raises(gw.ConnectionFailed):
        await ask(regions, retry=Retry(times=0))
    assert clock.waits == []


async def test_retry_after_is_honoured(ask: Asker, fake: FakeGradewright, clock: Clock) -> None:
    """Retry-After makes the wait longer than the backoff would be."""
    fake.answer("GET", "/v1/regions", {"regions": []})
    fake.problem("GET", "/v1/regions", "too-many-requests", headers={"Retry-After": "7"}, times=1)
    await ask(regions)
    assert clock.waits == [7.0]


async def test_retry_after_beyond_the_deadline(ask: Asker, fake: FakeGradewright, clock: Clock) -> None:
    """Asked to wait beyond the deadline it does not wait at all: the problem is raised at once."""
    fake.problem("GET", "/v1/regions", "too-many-requests", headers={"Retry-After": "31"})
    with pytest.raises(gw.TooManyRequests):
        await ask(regions)
    assert clock.waits == []


@pytest.mark.parametrize(("each", "error"), [(3, gw.ServerError), (4, gw.TimedOut)])
async def test_one_deadline_for_all_tries(
    ask: Asker, fake: FakeGradewright, clock: Clock, each: float, error: type[gw.GradewrightError]
) -> None:
    """Slow failures use up the one deadline: no try begins after it, however many are left.

    At 3 s each the third ends after 9.75 s, and a wait of 1 s more would be too long. At 4 s each the third
    ends after 12.75 s: its answer comes too late to be one.
    """

    def slowly(request: object) -> dict[str, object]:
        clock.now += each
        return {"type": "/problems/unavailable", "title": "Unavailable", "status": 503, "detail": "Starting."}

    fake.answer("GET", "/v1/regions", slowly, status=503)
    with pytest.raises(error):
        await ask(lambda client: client.regions.list(timeout=10), retry=Retry(times=50, random=lambda: 1.0))
    assert len(fake.requests) == 3


async def test_timed_out(ask: Asker, fake: FakeGradewright, clock: Clock) -> None:
    """A read that takes longer than the deadline is TimedOut, which says the deadline and the request id."""

    def never(request: object) -> object:
        clock.now += 30
        raise httpx.ReadTimeout("too slow")

    fake.answer("GET", "/v1/regions", never)
    with pytest.raises(gw.TimedOut, match="within 30 s") as caught:
        await ask(regions)
    assert caught.value.request_id == fake.requests[-1].headers["x-request-id"]
    assert len(fake.requests) == 1


async def test_slow_connect_is_tried_again_while_there_is_time(
    ask: Asker, fake: FakeGradewright, clock: Clock
) -> None:
    """A connection that is not made in time is tried again, for that attempt has only a part of the
    deadline.
    """
    fake.answer("GET", "/v1/regions", {"regions": []})

    def no_connection(request: object) -> object:
        clock.now += 5
        raise httpx.ConnectTimeout("no route")

    fake.answer("GET", "/v1/regions", no_connection, times=1)
    assert await ask(regions) == ()


class Dripping(httpx.SyncByteStream, httpx.AsyncByteStream):
    """An answer that comes byte by byte, a second each."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.closed = False

    def __iter__(self) -> Iterator[bytes]:
        while True:
            self.clock.now += 1
            yield b" "

    async def __aiter__(self) -> AsyncIterator[bytes]:
        while True:
            self.clock.now += 1
            yield b" "

    def close(self) -> None:
        self.closed = True

    async def aclose(self) -> None:
        self.closed = True


async def test_dripping_answer_is_cut_off(clock: Clock) -> None:
    """An answer that keeps coming in drops is cut off at the deadline, and its connection closed."""
    stream = Dripping(clock)
    transport = httpx.MockTransport(lambda request: httpx.Response(200, stream=stream))
    client = Client(http_client=httpx.Client(transport=transport), clock=clock)
    with pytest.raises(gw.TimedOut):
        client.regions.list()
    assert clock.now == 130
    assert stream.closed
    stream.closed = False
    async_client = AsyncClient(http_client=httpx.AsyncClient(transport=transport), clock=clock)
    with pytest.raises(gw.TimedOut):
        await async_client.regions.list()
    assert stream.closed


async def test_broken_encoding_is_an_unexpected_answer(ask: Asker, fake: FakeGradewright) -> None:
    """An answer that claims to be compressed and is not is UnexpectedAnswer, not tried again."""
    fake.answer("GET", "/v1/regions", b"plain", headers={"Content-Encoding": "gzip"})
    with pytest.raises(gw.UnexpectedAnswer):
        await ask(regions)
    assert len(fake.requests) == 1


WRITES = {
    "regions.create": lambda c, **k: c.regions.create("XO-N", name="North", currency="USD", unit="lb", **k),
    "yards.create": lambda c, **k: c.yards.create(
        "tern-row", name="Tern Row", region="XO-KEL", currency="USD", unit="lb", **k
    ),
    "postings.create": lambda c, **k: c.postings.create(
        "low-quay",
        observed_on="2026-05-03",
        evidence="sign",
        prices=[gw.PriceSeen("3", "USD", "lb", grade="x")],
        **k,
    ),
    "postings.withdraw": lambda c, **k: c.postings.withdraw("p-1", reason="x", **k),
    "postings.confirm": lambda c, **k: c.postings.confirm("p-1", reason="x", **k),
    "postings.dispute": lambda c, **k: c.postings.dispute("p-1", reason="x", **k),
    "postings.decide": lambda c, **k: c.postings.decide("p-1", "accepted", reason="x", **k),
    "postings.correct": lambda c, **k: c.postings.correct(
        "p-1", [gw.PriceSeen("3", "USD", "lb", grade="x")], reason="x", **k
    ),
    "valuations.value keep": lambda c, **k: c.valuations.value(
        [Part("a", weight="1 kg", grade="x")], region="XO-KEL", keep=True, **k
    ),
}


@pytest.fixture
def answers(fake: FakeGradewright) -> FakeGradewright:
    fake.answer("POST", "/v1/regions", samples.region(), status=201)
    fake.answer("POST", "/v1/yards", samples.yard(), status=201)
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    fake.answer("POST", "/v1/postings/*", samples.word_stored(), status=201)
    fake.answer("POST", "/v1/postings/*/correction", samples.correction(), status=201)
    fake.answer("POST", "/v1/valuations", samples.valuation(), status=201)
    return fake


@pytest.mark.parametrize("write", WRITES)
async def test_writes_carry_one_key_through_all_tries(
    ask: Asker, answers: FakeGradewright, write: str
) -> None:
    """Every writing POST carries an Idempotency-Key of its own, the same on every try, another on the
    next call.
    """
    answers.lose("POST", "*", times=1)
    answers.problem("POST", "*", "unavailable", times=1)
    await ask(WRITES[write])
    keys = [request.headers["idempotency-key"] for request in answers.requests]
    assert len(keys) == 3
    assert len(set(keys)) == 1
    assert keys[0].isalnum()
    await ask(WRITES[write])
    assert answers.requests[-1].headers["idempotency-key"] != keys[0]


@pytest.mark.parametrize("write", WRITES)
async def test_own_key_is_sent(ask: Asker, answers: FakeGradewright, write: str) -> None:
    """A caller's own Idempotency-Key is sent as it is, so that a program can repeat a call after a crash."""
    await ask(lambda client: WRITES[write](client, idempotency_key="ticket-4711"))
    assert answers.requests[-1].headers["idempotency-key"] == "ticket-4711"


@pytest.mark.parametrize("key", ["", "a b", "ü", "a\n", "x" * 256])
async def test_own_key_is_checked(ask: Asker, answers: FakeGradewright, key: str) -> None:
    """An Idempotency-Key that the service would refuse is refused before anything is sent."""
    with pytest.raises(ValueError, match="visible ASCII"):
        await ask(lambda client: WRITES["regions.create"](client, idempotency_key=key))
    assert not answers.requests


async def test_reading_posts_carry_no_key_and_are_tried_again(ask: Asker, fake: FakeGradewright) -> None:
    """Gradings, valuations that are not kept, and replays store nothing: tried again without a key."""
    fake.answer("POST", "*", samples.valuation())
    fake.answer("POST", "/v1/gradings", samples.grading())
    for call in (
        lambda client: client.gradings.grade({"metal": "copper"}),
        lambda client: client.valuations.value([Part("a", weight="1 kg", grade="x")], region="XO-KEL"),
        lambda client: client.valuations.replay("v-1"),
    ):
        fake.lose("POST", "*", times=1)
        await ask(call)
    assert len(fake.requests) == 6
    assert not any("idempotency-key" in request.headers for request in fake.requests)


async def test_write_without_a_key_is_sent_once(ask: Asker, fake: FakeGradewright) -> None:
    """A described call that writes and has no key is never sent twice."""
    fake.lose("POST", "/v1/things")
    call: Call[bytes] = Call("POST", "/v1/things", lambda answer: answer.content, writes=True)
    with pytest.raises(gw.ConnectionFailed):
        await ask(lambda client: client.send(call))
    assert len(fake.requests) == 1


@given(st.integers(1, 5000), st.floats(0, 1))
def test_wait_stays_within_bounds(failures: int, drawn: float) -> None:
    """A wait is between nothing and the doubled first wait, never above the most, after any number of
    failures.
    """
    retry = Retry(first=0.25, most=8.0, random=lambda: drawn)
    assert 0 <= retry.wait(failures) <= min(8.0, 0.25 * 2 ** min(failures - 1, 60))


@pytest.mark.parametrize(
    ("headers", "seconds"),
    [
        ({}, None),
        ({"retry-after": "0"}, 0),
        ({"retry-after": "120"}, 120),
        ({"retry-after": "9" * 30}, float("inf")),
        ({"retry-after": "-1"}, None),
        ({"retry-after": "1.5"}, None),
        ({"retry-after": "soon"}, None),
        ({"retry-after": "٣"}, None),
        ({"retry-after": "Mon, 04 May 2026 09:00:30 GMT", "date": "Mon, 04 May 2026 09:00:00 GMT"}, 30),
        ({"retry-after": "Mon, 04 May 2026 08:00:00 GMT", "date": "Mon, 04 May 2026 09:00:00 GMT"}, 0),
    ],
)
def test_retry_after_is_read(headers: dict[str, str], seconds: float | None) -> None:
    """Retry-After is seconds or a date held against the answer's own; what cannot be read counts as
    absent.
    """
    assert retry_after(headers) == seconds
