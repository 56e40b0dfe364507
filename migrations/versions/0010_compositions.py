"""What came out of devices: kinds, records with their parts, withdrawals. Only ever added.

Revision: 0010, after 0009
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

# Table -> its key; as in 0002, on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[str, ...]] = {
    "device_kinds": ("slug",),
    "compositions": ("id",),
    "components": ("composition", "line"),
    "composition_withdrawals": ("composition",),
}


def upgrade() -> None:
    op.create_table(
        "device_kinds",
        sa.Column("slug", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=True),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("author", sa.Text(), nullable=True),
        *_recorded("device_kinds"),
        sa.PrimaryKeyConstraint("slug", name=op.f("pk_device_kinds")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "compositions",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("weight", sa.Text(), nullable=True),
        sa.Column("made_year", sa.BigInteger(), nullable=True),
        sa.Column("model", sa.Text(), nullable=True),
        sa.Column("minutes", sa.Text(), nullable=True),
        sa.Column("region", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("from_memory", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("rulebook", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["kind"], ["device_kinds.slug"], name=op.f("fk_compositions_kind")),
        sa.ForeignKeyConstraint(["region"], ["regions.code"], name=op.f("fk_compositions_region")),
        sa.ForeignKeyConstraint(["rulebook"], ["rulebooks.version"], name=op.f("fk_compositions_rulebook")),
        *_recorded("compositions"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_compositions")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "components",
        sa.Column("composition", sa.Text(), nullable=False),
        sa.Column("line", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("weight", sa.Text(), nullable=True),
        sa.Column("share", sa.Text(), nullable=True),
        sa.Column("count", sa.BigInteger(), nullable=True),
        sa.Column("observed", sa.Text(), nullable=True),
        sa.Column("says", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["composition"], ["compositions.id"], name=op.f("fk_components_composition")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_components_revision")),
        sa.PrimaryKeyConstraint("composition", "line", name=op.f("pk_components")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "composition_withdrawals",
        sa.Column("composition", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["composition"], ["compositions.id"], name=op.f("fk_composition_withdrawals_composition")
        ),
        *_recorded("composition_withdrawals"),
        sa.PrimaryKeyConstraint("composition", name=op.f("pk_composition_withdrawals")),
        sqlite_with_rowid=False,
    )
    for table in KEYS:
        op.create_index(op.f(f"ix_{table}_revision"), table, ["revision"])
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _recorded(table: str) -> tuple[sa.ForeignKeyConstraint, sa.ForeignKeyConstraint]:
    return (
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f(f"fk_{table}_author")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f(f"fk_{table}_revision")),
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
