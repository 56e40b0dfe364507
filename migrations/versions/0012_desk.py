"""Drafts keep what was written as YAML; comparisons of documents are kept. Only added to.

Revision: 0012
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

INSTANT = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")
KEY = ("before", "after", "comparer")


def upgrade() -> None:
    op.add_column("draft_steps", sa.Column("text", sa.LargeBinary(), nullable=True))
    op.create_table(
        "comparisons",
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("comparer", sa.Text(), nullable=False),
        sa.Column("found", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint(*KEY, name=op.f("pk_comparisons")),
        sqlite_with_rowid=False,
    )
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _sqlite() -> list[str]:
    only_added = "SELECT RAISE(ABORT, 'comparisons: history is only added to');"
    there = "SELECT RAISE(ABORT, 'UNIQUE: comparisons: this key is there already');"
    same = " AND ".join(f"{column} = NEW.{column}" for column in KEY)
    return [
        f"CREATE TRIGGER comparisons_no_update BEFORE UPDATE ON comparisons BEGIN {only_added} END",
        f"CREATE TRIGGER comparisons_no_delete BEFORE DELETE ON comparisons BEGIN {only_added} END",
        "CREATE TRIGGER comparisons_no_replace BEFORE INSERT ON comparisons "  # noqa: S608 - names of this file
        f"WHEN EXISTS (SELECT 1 FROM comparisons WHERE {same}) BEGIN {there} END",
    ]


def _postgresql() -> list[str]:
    return [
        "CREATE TRIGGER comparisons_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON comparisons "
        "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()"
    ]


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
