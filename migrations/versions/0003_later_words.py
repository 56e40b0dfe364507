"""Later words about posted prices: withdrawals, confirmations, disputes, decisions. Only ever added.

Revision: 0003, after 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

KINDS = "kind IN ('withdrawal', 'confirmation', 'dispute', 'decision')"
VERDICTS = "(kind = 'decision') = (verdict IS NOT NULL) AND verdict IN ('accepted', 'rejected')"


def upgrade() -> None:
    op.create_table(
        "words",
        sa.Column("revision", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("line", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("posting", sa.Text(), nullable=False),
        sa.Column("about", sa.BigInteger(), nullable=False),
        sa.Column("yard", sa.Text(), nullable=False),
        sa.Column("observed_on", sa.Date(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.CheckConstraint(KINDS, name=op.f("ck_words_kind")),
        sa.CheckConstraint(VERDICTS, name=op.f("ck_words_verdict")),
        sa.ForeignKeyConstraint(["author"], ["accounts.handle"], name=op.f("fk_words_author")),
        sa.ForeignKeyConstraint(["posting"], ["postings.id"], name=op.f("fk_words_posting")),
        sa.ForeignKeyConstraint(["revision"], ["revisions.revision"], name=op.f("fk_words_revision")),
        sa.ForeignKeyConstraint(["yard"], ["yards.slug"], name=op.f("fk_words_yard")),
        sa.PrimaryKeyConstraint("revision", "line", name=op.f("pk_words")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_words_posting_about"), "words", ["posting", "about"])
    op.create_index(op.f("ix_words_yard_observed_on"), "words", ["yard", "observed_on"])
    # Who has said how much so far: what an author's standing begins with.
    op.create_index(op.f("ix_postings_author_revision"), "postings", ["author", "revision"])
    guards = _sqlite() if op.get_bind().dialect.name == "sqlite" else _postgresql()
    for statement in guards:
        op.get_bind().exec_driver_sql(statement)


def _sqlite() -> list[str]:
    only_added = "SELECT RAISE(ABORT, 'words: history is only added to');"
    there = "SELECT RAISE(ABORT, 'UNIQUE: words: this key is there already');"
    same = "SELECT 1 FROM words WHERE revision = NEW.revision AND line = NEW.line"
    return [
        f"CREATE TRIGGER words_no_update BEFORE UPDATE ON words BEGIN {only_added} END",
        f"CREATE TRIGGER words_no_delete BEFORE DELETE ON words BEGIN {only_added} END",
        f"CREATE TRIGGER words_no_replace BEFORE INSERT ON words WHEN EXISTS ({same}) BEGIN {there} END",
    ]


def _postgresql() -> list[str]:
    return [
        "CREATE TRIGGER words_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON words "
        "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()"
    ]


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
