"""Kept decisions: teardowns, hauls, settlements, recoveries. Only added to.

Revision: 0009, after 0008
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

# Table -> its key; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[str, ...]] = {"answers": ("id",)}
INSTANT = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "answers",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("rulebook", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("answer", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("tree_size", sa.BigInteger(), nullable=True),
        sa.Column("tree_root", sa.LargeBinary(), nullable=True),
        sa.Column("author", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_answers_author")),
        sa.ForeignKeyConstraint(["rulebook"], ["rulebooks.version"], name=op.f("fk_answers_rulebook")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_answers")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_answers_created_at"), "answers", ["created_at"])
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
