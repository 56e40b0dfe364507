"""Bins of settled tickets tell where it is unclear how they were accepted.

Revision: 0015
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Of bins of tickets that were settled before it was not told: they stay in the shares that they are in.
    op.add_column("settled_bins", sa.Column("unclear", sa.Boolean(), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
