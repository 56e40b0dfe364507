"""Drafts of rulebook versions, every step taken with them, and what was proved of documents. Only added to.

Revision: 0007, after 0006
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

# Table -> its key; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[str, ...]] = {
    "drafts": ("number",),
    "draft_steps": ("draft", "number"),
    "proofs": ("sha256", "asked"),
}
INSTANT = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "drafts",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("from_version", sa.Text(), nullable=True),
        sa.Column("from_draft", sa.BigInteger(), nullable=True),
        sa.Column("from_step", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["from_version"], ["rulebooks.version"], name=op.f("fk_drafts_from_version")),
        sa.ForeignKeyConstraint(["from_draft"], ["drafts.number"], name=op.f("fk_drafts_from_draft")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_drafts")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "draft_steps",
        sa.Column("draft", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("taken_at", INSTANT, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("base", sa.Text(), nullable=True),
        sa.Column("version", sa.Text(), nullable=True),
        sa.Column("effective_from", sa.Text(), nullable=True),
        sa.Column("title", sa.Text(), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=True),
        sa.CheckConstraint(
            "step IN ('made', 'edited', 'submitted', 'refused', 'approved', 'withdrawn')",
            name=op.f("ck_draft_steps_step"),
        ),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_draft_steps_author")),
        sa.ForeignKeyConstraint(["base"], ["rulebooks.version"], name=op.f("fk_draft_steps_base")),
        sa.ForeignKeyConstraint(["draft"], ["drafts.number"], name=op.f("fk_draft_steps_draft")),
        sa.PrimaryKeyConstraint("draft", "number", name=op.f("pk_draft_steps")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "proofs",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("found", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("sha256", "asked", name=op.f("pk_proofs")),
        sqlite_with_rowid=False,
    )
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
