"""A published rulebook may name versions to come that never are in force, as it is instead of them.

Revision: 0016
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # No version that was published before names any.
    op.add_column("rulebooks", sa.Column("instead_of", sa.Text(), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
