"""Jobs that wait at the same time, done at once."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

import pytest
from sqlalchemy.exc import OperationalError

from gradewright.db.together import Together


class Worker:
    """Doubles numbers; keeps what it was given at once, and waits before each where it is told to."""

    def __init__(self, most: int = 100) -> None:
        self.batches: list[list[int]] = []
        self.go = asyncio.Event()
        self.go.set()
        self.together = Together(self.work, most=most, weight=abs)

    async def work(self, jobs: Sequence[int]) -> list[int]:
        self.batches.append(list(jobs))
        await self.go.wait()
        if 13 in jobs:
            raise ValueError("13")
        if 99 in jobs:
            raise OperationalError("SELECT 1", {}, Exception("gone"))
        return [job * 2 for job in jobs]

    def do(self, *jobs: int) -> list[asyncio.Task[int]]:
        return [asyncio.create_task(self.together.do(job)) for job in jobs]


async def held(worker: Worker, *jobs: int) -> list[asyncio.Task[int]]:
    """Jobs that came while job 1 was being done."""
    worker.go.clear()
    first = worker.do(1)
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert worker.batches == [[1]]
    tasks = worker.do(*jobs)
    await asyncio.sleep(0)
    return first + tasks


async def test_who_comes_alone_is_done_at_once() -> None:
    """Nobody waits for others to come."""
    worker = Worker()
    assert [await worker.together.do(2), await worker.together.do(3)] == [4, 6]
    assert worker.batches == [[2], [3]]


async def test_those_who_come_meanwhile_are_done_together() -> None:
    """They are done after what was under way, in their order, and each gets its own result."""
    worker = Worker()
    tasks = await held(worker, 4, 3, 2)
    worker.go.set()
    assert await asyncio.gather(*tasks) == [2, 8, 6, 4]
    assert worker.batches == [[1], [4, 3, 2]]


async def test_one_that_fails_does_not_fail_the_others() -> None:
    """Where some cannot be done together, each is done alone: only the one to blame gets its fault."""
    worker = Worker()
    tasks = await held(worker, 2, 13, 3)
    worker.go.set()
    found = await asyncio.gather(*tasks, return_exceptions=True)
    assert found[:2] + found[3:] == [2, 4, 6]
    assert isinstance(found[2], ValueError)
    assert worker.batches == [[1], [2, 13, 3], [2], [13], [3]]


async def test_a_fault_of_the_database_is_told_to_all_at_once() -> None:
    """Where the database does not answer, it is not asked again for each."""
    worker = Worker(most=1000)
    tasks = await held(worker, 2, 99, 3)
    worker.go.set()
    found = await asyncio.gather(*tasks, return_exceptions=True)
    assert [type(each) for each in found] == [int, *[OperationalError] * 3]
    assert len(worker.batches) == 2


async def test_no_more_is_done_at_once_than_weighs_so_much() -> None:
    """What is heavier than that alone is done alone; none is passed by a lighter one."""
    worker = Worker(most=10)
    tasks = await held(worker, 4, 6, 1, 11, 5, 5)
    worker.go.set()
    await asyncio.gather(*tasks)
    assert worker.batches == [[1], [4, 6], [1], [11], [5, 5]]


async def test_who_stops_waiting_in_time_takes_the_job_back() -> None:
    """A job whose turn has not come is not done; what is under way is, and others are not kept."""
    worker = Worker()
    first, second, third = await held(worker, 2, 3)
    first.cancel()
    second.cancel()
    await asyncio.sleep(0)
    worker.go.set()
    assert await third == 6
    assert worker.batches == [[1], [3]]


async def test_it_goes_on_after_a_fault() -> None:
    """A fault belongs to those who waited for it: who comes later is served."""
    worker = Worker()
    with pytest.raises(ValueError, match="13"):
        await worker.together.do(13)
    assert await worker.together.do(2) == 4


async def test_nobody_waits_for_ever_when_the_server_gives_up() -> None:
    """Cancelled while a failed batch is done one by one, it cancels those whose turn has not come."""
    begun, second = asyncio.Event(), asyncio.Event()
    done_alone = 0

    async def work(jobs: Sequence[int]) -> Sequence[int]:
        nonlocal done_alone
        await begun.wait()
        if len(jobs) > 1:
            raise ValueError("not together")
        done_alone += 1
        if done_alone > 1:
            second.set()
            await asyncio.sleep(60)
        return jobs

    together = Together(work, most=100)
    waiting = [asyncio.create_task(together.do(number)) for number in range(4)]
    await asyncio.sleep(0)
    begun.set()
    await second.wait()
    assert together._runner is not None
    together._runner.cancel()
    _, pending = await asyncio.wait(waiting, timeout=5)
    assert not pending
