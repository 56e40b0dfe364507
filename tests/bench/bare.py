"""What a plain script does with the same rows: one transaction for each posting, sixteen connections at once.

The tables, their indexes, foreign keys and triggers are the service's own, and so is what each connection is
told about the disk. A transaction takes the ledger's next revision, and adds the posting and its ten prices;
the tree over the ledger stays as it is, nothing is checked, and nothing goes over a network.
"""

from __future__ import annotations

import random
import secrets
import sqlite3
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import Any

import psycopg
from sqlalchemy.engine import make_url

Body = dict[str, Any]
Poster = Callable[[Body, str], None]
ENTRY = [
    "revision",
    "line",
    "kind",
    "posting",
    "yard",
    "author",
    "observed_on",
    "evidence",
    "grade",
    "price",
    "currency",
    "per",
]
POSTING = ["id", "revision", "yard", "author", "observed_on", "evidence", "recorded_at"]
TAKE = "UPDATE ledger SET revision = revision + 1, recorded_at = {} RETURNING revision, recorded_at"
BUSY = "database is locked"


def bare_per_second(url: str, bodies: Sequence[Body], authors: Sequence[str], seconds: float) -> float:
    """Postings per second of a script with a connection for each author, each a thread of its own."""
    until = time.perf_counter() + seconds

    def run(place: int) -> int:
        post, close = (_sqlite if url.startswith("sqlite") else _postgresql)(url)
        count = 0
        while time.perf_counter() < until:
            post(bodies[(place * 7 + count) % len(bodies)], authors[place])
            count += 1
        close()
        return count

    started = time.perf_counter()
    with ThreadPoolExecutor(len(authors)) as threads:
        done = sum(threads.map(run, range(len(authors))))
    return done / (time.perf_counter() - started)


def _rows(
    body: Body, author: str, revision: int, now: object
) -> tuple[tuple[Any, ...], list[tuple[Any, ...]]]:
    posting = f"p-{secrets.token_hex(10)}"
    common = (body["yard"], author, body["observed_on"], body["evidence"])
    return (posting, revision, *common, now), [
        (revision, line, "price", posting, *common, p["grade"], p["price"], p["currency"], p["per"])
        for line, p in enumerate(body["prices"], start=1)
    ]


def _insert(table: str, columns: Sequence[str], mark: str) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join([mark] * len(columns))})"  # noqa: S608 - names of this file


def _sqlite(url: str) -> tuple[Poster, Callable[[], None]]:
    """BEGIN IMMEDIATE, tried again after a moment where another connection is writing."""
    connection = sqlite3.connect(str(make_url(url).database), isolation_level=None, timeout=10)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=0"):
        connection.execute(f"PRAGMA {pragma}")
    add_posting, add_entries = _insert("postings", POSTING, "?"), _insert("entries", ENTRY, "?")

    def post(body: Body, author: str) -> None:
        while True:
            try:
                connection.execute("BEGIN IMMEDIATE")
                break
            except sqlite3.OperationalError as error:
                if BUSY not in str(error):
                    raise
                time.sleep(random.uniform(0.0005, 0.003))
        now = datetime.now(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
        ((revision, now),) = connection.execute(TAKE.format("max(recorded_at, ?)"), (now,)).fetchall()
        posting, entries = _rows(body, author, revision, now)
        connection.execute(add_posting, posting)
        connection.executemany(add_entries, entries)
        connection.execute("COMMIT")

    return post, connection.close


def _postgresql(url: str) -> tuple[Poster, Callable[[], None]]:
    """The revision, the posting, then all prices with `executemany`, which sends them together."""
    take = TAKE.format("greatest(recorded_at, clock_timestamp())")
    connection = psycopg.connect(url.replace("+psycopg", ""))
    add_posting, add_entries = _insert("postings", POSTING, "%s"), _insert("entries", ENTRY, "%s")

    def post(body: Body, author: str) -> None:
        with connection.transaction(), connection.cursor() as cursor:
            revision, now = cursor.execute(take.encode()).fetchone() or (0, None)
            posting, entries = _rows(body, author, revision, now)
            cursor.execute(add_posting.encode(), posting)
            cursor.executemany(add_entries.encode(), entries)

    return post, connection.close
