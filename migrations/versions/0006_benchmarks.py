"""Benchmarks: what markets quote, day by day, with which prices age. Only ever added.

Revision: 0006, after 0005
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# Table -> its key; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[str, ...]] = {
    "benchmarks": ("slug",),
    "benchmark_values": ("benchmark", "day", "revision"),
}


def upgrade() -> None:
    op.create_table(
        "benchmarks",
        sa.Column("slug", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("author", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_benchmarks_author")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_benchmarks_revision")),
        sa.PrimaryKeyConstraint("slug", name=op.f("pk_benchmarks")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "benchmark_values",
        sa.Column("benchmark", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_benchmark_values_author")),
        sa.ForeignKeyConstraint(
            ["benchmark"], ["benchmarks.slug"], name=op.f("fk_benchmark_values_benchmark")
        ),
        sa.ForeignKeyConstraint(
            ["revision"], ["revisions.revision"], name=op.f("fk_benchmark_values_revision")
        ),
        sa.PrimaryKeyConstraint("benchmark", "day", "revision", name=op.f("pk_benchmark_values")),
        sqlite_with_rowid=False,
    )
    for table in KEYS:
        op.create_index(op.f(f"ix_{table}_revision"), table, ["revision"])
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _sqlite() -> list[str]:
    statements = []
    for table, key in KEYS.items():
        only_added = f"SELECT RAISE(ABORT, '{table}: history is only added to');"
        there = f"SELECT RAISE(ABORT, 'UNIQUE: {table}: this key is there already');"
        same = " AND ".join(f"{column} = NEW.{column}" for column in key)
        statements += [
            f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN {only_added} END",
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN {only_added} END",
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "  # noqa: S608 - names of this file
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) BEGIN {there} END",
        ]
    return statements


def _postgresql() -> list[str]:
    return [
        f"CREATE TRIGGER {table}_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()"
        for table in KEYS
    ]


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
