"""Settlements tell the tickets that look alike: the same lines of one seller at one yard on one day.

Revision: 0013
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Tickets that were settled before stay without: each is like no other.
    op.add_column("settlements", sa.Column("alike", sa.Text(), nullable=True))
    op.create_index(op.f("ix_settlements_alike"), "settlements", ["alike"])


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
