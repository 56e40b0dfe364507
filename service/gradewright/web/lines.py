"""Answers that tell how far they are: JSON Lines, the last with what was asked for, or with the problem."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator, Awaitable, Callable, Mapping
from typing import Any

import msgspec
from litestar import Request
from litestar.response import Stream

from gradewright.web.preferring import preferred

LINES = ("application/jsonl", "application/x-ndjson")
Tell = Callable[[str, int, int], None]
"""Is told, from any thread, what is done, how far it is and how much there is (0: not known)."""
VARIES = {"Vary": "Accept", "Cache-Control": "no-store"}


def as_lines(request: Request[Any, Any, Any]) -> str | None:
    """The kind of lines that the caller would rather have than one answer; None: one answer."""
    accept = ",".join(request.headers.getall("accept", []))
    kind = preferred(accept, ("application/json", "application/problem+json", *LINES))
    return kind if kind in LINES else None


def line_of(name: str, **also: str) -> dict[str, Any]:
    """The schema of a line; the last has what is asked for under `name`, or the problem. `also`: what every
    line but that may tell besides, as text."""
    number, whole = {"type": "integer"}, {"type": "object"}
    told = {key: {"type": "string", "description": says} for key, says in also.items()}
    return {
        "description": f"A line: `done` of `of` so far; the last has the `{name}`, or the `problem` "
        "(RFC 9457) that came after the head of the answer had been sent.",
        "type": "object",
        "properties": {"done": number, "of": number, **told, name: whole, "problem": whole},
    }


async def heard(work: Callable[[Tell], Awaitable[Mapping[str, Any]]]) -> AsyncIterator[Mapping[str, Any]]:
    """The lines of what work tells, from whichever thread, of how far it is; the last is what it comes to."""
    lines: asyncio.Queue[Mapping[str, Any] | None] = asyncio.Queue()
    loop = asyncio.get_running_loop()

    def tell(what: str, done: int, of: int) -> None:
        loop.call_soon_threadsafe(lines.put_nowait, {"what": what, "done": done, "of": of})

    task = asyncio.ensure_future(work(tell))
    task.add_done_callback(lambda _: lines.put_nowait(None))
    try:
        while (line := await lines.get()) is not None:
            yield line
        yield await task
    finally:
        task.cancel()  # whoever has gone waits no longer; what others wait for too goes on, and is kept


async def begun(told: AsyncIterator[Mapping[str, Any]]) -> AsyncIterator[Mapping[str, Any]]:
    """The same lines, of which the first has come: what is refused before it is refused as any answer is."""
    first = await anext(told)

    async def lines() -> AsyncIterator[Mapping[str, Any]]:
        yield first
        async for each in told:
            yield each

    return lines()


def stream(request: Request[Any, Any, Any], told: AsyncIterator[Mapping[str, Any]], kind: str) -> Stream:
    """The lines as they come."""
    return Stream(_lines(request, told), media_type=kind, status_code=200, headers=VARIES)


async def _lines(
    request: Request[Any, Any, Any], told: AsyncIterator[Mapping[str, Any]]
) -> AsyncGenerator[bytes]:
    try:
        async for each in told:
            yield msgspec.json.encode(each) + b"\n"
    except Exception as error:  # told as any other, by the one map; in a line, since the head is sent
        handlers = request.app.exception_handlers
        handler: Any = next(handlers[kind] for kind in type(error).__mro__ if kind in handlers)
        yield msgspec.json.encode({"problem": msgspec.Raw(handler(request, error).content)}) + b"\n"
