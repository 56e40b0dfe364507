"""The first tables: accounts, the ledger and its counter, regions, yards, rulebooks, valuations.

Revision: 0001
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Types are spelled out here: a migration must not change when the package's own types do.
INSTANT = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")
# In SQLite a row has a position besides its key, and one that is put in another's position takes its place
# without any trigger noticing. Tables of the history have no positions.
HISTORY: dict[str, Any] = {"sqlite_with_rowid": False}


def upgrade() -> None:
    op.create_table(
        "accounts",
        sa.Column("handle", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.CheckConstraint("role IN ('member', 'maintainer')", name=op.f("ck_accounts_role")),
        sa.PrimaryKeyConstraint("handle", name=op.f("pk_accounts")),
    )
    op.create_table(
        "idempotency",
        sa.Column("scope", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("request_sha256", sa.Text(), nullable=False),
        sa.Column("status", sa.BigInteger(), nullable=True),
        sa.Column("headers", sa.Text(), nullable=True),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("scope", "key", name=op.f("pk_idempotency")),
    )
    op.create_index(op.f("ix_idempotency_created_at"), "idempotency", ["created_at"])

    op.create_table(
        "ledger",
        sa.Column("id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("recorded_at", INSTANT, nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_ledger_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger")),
    )
    op.create_table(
        "revisions",
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("recorded_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("revision", name=op.f("pk_revisions")),
        **HISTORY,
    )
    op.create_index(op.f("ix_revisions_recorded_at"), "revisions", ["recorded_at"])

    op.create_table(
        "rulebooks",
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("effective_from", sa.Date(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("published_at", INSTANT, nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_rulebooks_revision")),
        sa.PrimaryKeyConstraint("version", name=op.f("pk_rulebooks")),
        **HISTORY,
    )
    op.create_index(op.f("ix_rulebooks_effective_from"), "rulebooks", ["effective_from"])

    op.create_table(
        "keys",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("handle", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("revoked_at", INSTANT, nullable=True),
        sa.ForeignKeyConstraint(["handle"], ["accounts.handle"], name=op.f("fk_keys_handle")),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_keys")),
    )
    op.create_index(op.f("ix_keys_handle"), "keys", ["handle"])

    op.create_table(
        "regions",
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("parent", sa.Text(), nullable=True),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["parent"], ["regions.code"], name=op.f("fk_regions_parent")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_regions_revision")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_regions")),
        **HISTORY,
    )
    op.create_index(op.f("ix_regions_parent"), "regions", ["parent"])
    op.create_index(op.f("ix_regions_revision"), "regions", ["revision"])

    op.create_table(
        "valuations",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("rulebook", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("answer", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["rulebook"], ["rulebooks.version"], name=op.f("fk_valuations_rulebook")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_valuations")),
        **HISTORY,
    )
    op.create_table(
        "yards",
        sa.Column("slug", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("region", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("rounding", sa.Text(), nullable=False),
        sa.Column("cash_increment", sa.Text(), nullable=True),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("rounding IN ('half-even', 'half-up', 'down')", name=op.f("ck_yards_rounding")),
        sa.ForeignKeyConstraint(["region"], ["regions.code"], name=op.f("fk_yards_region")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_yards_revision")),
        sa.PrimaryKeyConstraint("slug", name=op.f("pk_yards")),
        **HISTORY,
    )
    op.create_index(op.f("ix_yards_region"), "yards", ["region"])
    op.create_index(op.f("ix_yards_revision"), "yards", ["revision"])

    op.create_table(
        "postings",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("observed_on", sa.Date(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("recorded_at", INSTANT, nullable=False),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_postings_author")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_postings_revision")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_postings_yard")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_postings")),
        sa.UniqueConstraint("revision", name=op.f("uq_postings_revision")),
        **HISTORY,
    )
    op.create_index(op.f("ix_postings_yard_revision"), "postings", ["yard", "revision"])

    op.create_table(
        "yard_labels",
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("label_folded", sa.Text(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_yard_labels_revision")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_yard_labels_yard")),
        sa.PrimaryKeyConstraint(
            "yard", "label_folded", "valid_from", "revision", name=op.f("pk_yard_labels")
        ),
        **HISTORY,
    )
    op.create_index(op.f("ix_yard_labels_revision"), "yard_labels", ["revision"])

    op.create_table(
        "yard_refusals",
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_yard_refusals_revision")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_yard_refusals_yard")),
        sa.PrimaryKeyConstraint("yard", "grade", "valid_from", "revision", name=op.f("pk_yard_refusals")),
        **HISTORY,
    )
    op.create_index(op.f("ix_yard_refusals_revision"), "yard_refusals", ["revision"])

    op.create_table(
        "entries",
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("line", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("posting", sa.Text(), nullable=False),
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("observed_on", sa.Date(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=True),
        sa.Column("price", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("per", sa.Text(), nullable=False),
        sa.Column("from_weight", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_entries_author")),
        sa.ForeignKeyConstraint(["posting"], ["postings.id"], name=op.f("fk_entries_posting")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_entries_revision")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_entries_yard")),
        sa.PrimaryKeyConstraint("revision", "line", name=op.f("pk_entries")),
        **HISTORY,
    )
    op.create_index(op.f("ix_entries_posting"), "entries", ["posting"])
    op.create_index(
        op.f("ix_entries_yard_observed_on_revision"), "entries", ["yard", "observed_on", "revision"]
    )
    op.create_index(op.f("ix_entries_grade_observed_on_yard"), "entries", ["grade", "observed_on", "yard"])


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
