"""What several ask for at the same time, done at once: one transaction for all who wait.

Nobody waits for others to come: whoever comes while nothing is under way is done alone and at once. Those who
come meanwhile are done together after it, in the order in which they came.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable, Sequence
from contextvars import Context
from typing import Generic, TypeVar

from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from gradewright.db.leaves import UnsealedLedger
from gradewright.db.readonly import ReadOnlyDatabase

J = TypeVar("J")
R = TypeVar("R")

OF_ALL = (OperationalError, InterfaceError, PoolTimeout, ReadOnlyDatabase, UnsealedLedger)
"""Faults of the database: no job is to blame, and each would meet them again."""


class Together(Generic[J, R]):
    """Does jobs with `work`, which takes some and gives their results in order, or raises and has done none.

    Where it raises for several, each is done alone: one that cannot be done does not keep others from it.
    Not to be waited for inside a write: what is done here waits for that write to end.
    """

    def __init__(
        self,
        work: Callable[[Sequence[J]], Awaitable[Sequence[R]]],
        *,
        most: int,
        weight: Callable[[J], int] = lambda _: 1,
    ) -> None:
        """`most`: what the weights of jobs done at once may add up to; a heavier one is done alone."""
        self._work = work
        self._most = most
        self._weight = weight
        self._waiting: deque[tuple[J, asyncio.Future[R]]] = deque()
        self._runner: asyncio.Task[None] | None = None

    async def do(self, job: J) -> R:
        """The job's result. Whoever stops waiting before its turn has come takes the job back."""
        done: asyncio.Future[R] = asyncio.get_running_loop().create_future()
        self._waiting.append((job, done))
        if self._runner is None:
            # A context of its own: it belongs to none of the requests that it works for.
            self._runner = asyncio.create_task(self._run(), context=Context())
        return await done

    async def _run(self) -> None:
        try:
            while batch := self._next():
                await self._do(batch)
        finally:
            self._runner = None
            while self._waiting:  # only where this task is cancelled: the server has given up
                self._waiting.popleft()[1].cancel()

    def _next(self) -> list[tuple[J, asyncio.Future[R]]]:
        batch: list[tuple[J, asyncio.Future[R]]] = []
        weight = 0
        while self._waiting:
            job, done = self._waiting[0]
            if not done.cancelled():
                weight += self._weight(job)
                if batch and weight > self._most:
                    break
                batch.append((job, done))
            self._waiting.popleft()
        return batch

    async def _do(self, batch: list[tuple[J, asyncio.Future[R]]]) -> None:
        try:
            results = await self._work([job for job, _ in batch])
        except Exception as error:
            if len(batch) == 1 or isinstance(error, OF_ALL):
                for _, done in batch:
                    if not done.done():
                        done.set_exception(error)
                return
            try:
                for one in batch:
                    await self._do([one])
            except BaseException:
                for _, done in batch:  # those whose turn has not come will have none
                    done.cancel()
                raise
            return
        except BaseException:
            for _, done in batch:
                done.cancel()
            raise
        for (_, done), result in zip(batch, results, strict=True):
            if not done.done():
                done.set_result(result)
