"""Kept valuations are found by when they were kept.

Revision: 0008, after 0007
"""

from __future__ import annotations

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(op.f("ix_valuations_created_at"), "valuations", ["created_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_valuations_created_at"), table_name="valuations")
