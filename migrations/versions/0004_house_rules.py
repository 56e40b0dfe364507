"""House rules: a yard's or region's own limits, labels and refusals, dated and only added to.

Revision: 0004, after 0003
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# Table -> its key; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[str, ...]] = {
    "region_limits": ("region", "name", "valid_from", "revision"),
    "region_labels": ("region", "label_folded", "valid_from", "revision"),
    "region_refusals": ("region", "grade", "valid_from", "revision"),
    "yard_limits": ("yard", "name", "valid_from", "revision"),
}


def upgrade() -> None:
    for place, owner in (("region", "regions.code"), ("yard", "yards.slug")):
        _create(
            f"{place}_limits",
            place,
            owner,
            sa.Column("name", sa.Text(), nullable=False),
            sa.Column("given", sa.Text(), nullable=True),
            sa.Column("says", sa.Text(), nullable=True),
        )
    _create(
        "region_labels",
        "region",
        "regions.code",
        sa.Column("label_folded", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("lifted", sa.Boolean(), nullable=True),
    )
    _create(
        "region_refusals",
        "region",
        "regions.code",
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("lifted", sa.Boolean(), nullable=True),
    )
    # What is there already was said before anyone asked who says it, and why: the columns stay empty there.
    for table in ("yard_labels", "yard_refusals"):
        op.add_column(table, sa.Column("lifted", sa.Boolean(), nullable=True))
        op.add_column(table, sa.Column("reason", sa.Text(), nullable=True))
        _add_author(table)
    for table in ("regions", "yards"):
        _add_author(table)
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _create(table: str, place: str, owner: str, *columns: sa.Column[Any]) -> None:
    op.create_table(
        table,
        sa.Column(place, sa.Text(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        *columns,
        sa.Column("author", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f(f"fk_{table}_author")),
        sa.ForeignKeyConstraint([place], [owner], name=op.f(f"fk_{table}_{place}")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f(f"fk_{table}_revision")),
        sa.PrimaryKeyConstraint(*KEYS[table], name=op.f(f"pk_{table}")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f(f"ix_{table}_revision"), table, ["revision"])


def _add_author(table: str) -> None:
    # In one statement, which both databases take: SQLite cannot add the constraint to a column afterwards.
    op.get_bind().exec_driver_sql(
        f"ALTER TABLE {table} ADD COLUMN author TEXT "
        f"CONSTRAINT fk_{table}_author REFERENCES accounts (handle)"
    )


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
