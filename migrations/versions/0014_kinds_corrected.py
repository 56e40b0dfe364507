"""Kinds of device are called otherwise, or sold whole in another grade, from a revision on. Only ever added.

Revision: 0014
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

TABLE = "device_kind_corrections"


def upgrade() -> None:
    op.create_table(
        TABLE,
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=True),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["kind"], ["device_kinds.slug"], name=op.f(f"fk_{TABLE}_kind")),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f(f"fk_{TABLE}_author")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f(f"fk_{TABLE}_revision")),
        sa.PrimaryKeyConstraint("kind", "revision", name=op.f(f"pk_{TABLE}")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f(f"ix_{TABLE}_revision"), TABLE, ["revision"])
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _sqlite() -> list[str]:
    only_added = f"SELECT RAISE(ABORT, '{TABLE}: history is only added to');"
    there = f"SELECT RAISE(ABORT, 'UNIQUE: {TABLE}: this key is there already');"
    return [
        f"CREATE TRIGGER {TABLE}_no_update BEFORE UPDATE ON {TABLE} BEGIN {only_added} END",
        f"CREATE TRIGGER {TABLE}_no_delete BEFORE DELETE ON {TABLE} BEGIN {only_added} END",
        f"CREATE TRIGGER {TABLE}_no_replace BEFORE INSERT ON {TABLE} WHEN EXISTS (SELECT 1 FROM {TABLE} "  # noqa: S608 - names of this file
        f"WHERE kind = NEW.kind AND revision = NEW.revision) BEGIN {there} END",
    ]


def _postgresql() -> list[str]:
    return [
        f"CREATE TRIGGER {TABLE}_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON {TABLE} "
        "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()"
    ]


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
