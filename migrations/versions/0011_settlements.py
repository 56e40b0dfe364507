"""Settled scale tickets, beside their kept answers; how each bin was accepted; what was taken back.

Only added to. Revision: 0011, after 0010
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

# Table -> its keys; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[tuple[str, ...], ...]] = {
    "settlements": (("id",), ("ticket", "turn")),
    "settled_bins": (("settlement", "grade"),),
    "settlement_withdrawals": (("settlement",),),
}
INSTANT = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "settlements",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("ticket_on", sa.Date(), nullable=False),
        sa.Column("ticket", sa.Text(), nullable=False),
        sa.Column("turn", sa.BigInteger(), nullable=False),
        sa.Column("posting", sa.Text(), nullable=True),
        sa.Column("settled_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_settlements_author")),
        sa.ForeignKeyConstraint(["id"], ["answers.id"], name=op.f("fk_settlements_id")),
        sa.ForeignKeyConstraint(["posting"], ["postings.id"], name=op.f("fk_settlements_posting")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_settlements_yard")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_settlements")),
        sa.UniqueConstraint("ticket", "turn", name=op.f("uq_settlements_ticket_turn")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_settlements_yard"), "settlements", ["yard"])
    op.create_table(
        "settled_bins",
        sa.Column("settlement", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("share", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["settlement"], ["settlements.id"], name=op.f("fk_settled_bins_settlement")),
        sa.PrimaryKeyConstraint("settlement", "grade", name=op.f("pk_settled_bins")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "settlement_withdrawals",
        sa.Column("settlement", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("recorded_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(
            ["author"], ["accounts.handle"], name=op.f("fk_settlement_withdrawals_author")
        ),
        sa.ForeignKeyConstraint(
            ["settlement"], ["settlements.id"], name=op.f("fk_settlement_withdrawals_settlement")
        ),
        sa.PrimaryKeyConstraint("settlement", name=op.f("pk_settlement_withdrawals")),
        sqlite_with_rowid=False,
    )
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _sqlite() -> list[str]:
    statements = []
    for table, keys in KEYS.items():
        only_added = f"SELECT RAISE(ABORT, '{table}: history is only added to');"
        there = f"SELECT RAISE(ABORT, 'UNIQUE: {table}: this key is there already');"
        same = " OR ".join(f"({' AND '.join(f'{column} = NEW.{column}' for column in key)})" for key in keys)
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
