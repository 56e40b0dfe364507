"""The test server of PostgreSQL made to write to the disk, as a real one does."""

from __future__ import annotations

from collections.abc import Iterable

import psutil
import psycopg

from tests.bench.timing import Servers
from tests.conftest import PostgreSQL


def on_the_disk(postgresql: PostgreSQL) -> Servers:
    """From here on nothing is committed before it is on the disk; gives the server's processes."""
    with psycopg.connect(postgresql.url("postgres"), autocommit=True) as connection:
        for statement in ("ALTER SYSTEM RESET fsync", "SELECT pg_reload_conf()", "CHECKPOINT"):
            connection.execute(statement)
    postmaster = psutil.Process(postgresql.server.get_pid())

    def processes() -> Iterable[int]:
        return [child.pid for child in postmaster.children()]

    return processes
