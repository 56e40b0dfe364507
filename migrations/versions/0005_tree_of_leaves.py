"""The tree over the ledger: hashes of its entries, and what a kept valuation was worked out from.

Only makes the tables; the leaves of what is there already are made by `gradewright migrate`.

Revision: 0005, after 0004
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

KEYS = {"leaves": ("number",), "nodes": ("level", "number"), "trees": ("revision",)}


def upgrade() -> None:
    op.create_table(
        "leaves",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_leaves")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "nodes",
        sa.Column("level", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("level", "number", name=op.f("pk_nodes")),
        sqlite_with_rowid=False,
    )
    trees = op.create_table(
        "trees",
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("revision", name=op.f("pk_trees")),
        sqlite_with_rowid=False,
    )
    op.add_column("valuations", sa.Column("tree_size", sa.BigInteger(), nullable=True))
    op.add_column("valuations", sa.Column("tree_root", sa.LargeBinary(), nullable=True))
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)
    op.bulk_insert(trees, [{"revision": 0, "size": 0}])


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
