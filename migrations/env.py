"""Runs migrations on the database named by the caller or by GRADEWRIGHT_DATABASE_URL."""

from __future__ import annotations

import importlib
from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext

from gradewright.db.base import Base
from gradewright.db.engines import read_url, sync_engine
from gradewright.db.types import ExactDecimal, UtcInstant
from gradewright.settings import Settings

for module in (
    "db.ledger",
    "db.leaves",
    "db.replays",
    "db.answers",
    "accounts.models",
    "regions.models",
    "yards.models",
    "prices.models",
    "rulebooks.models",
    "compositions.models",
    "valuations.models",
    "settlements.models",
    "drafts.models",
):
    importlib.import_module(f"gradewright.{module}")


def render_item(kind: str, item: Any, autogen_context: AutogenContext) -> str | Literal[False]:
    """Spells the package's own types out, so that a migration stands on its own."""
    if kind == "type" and isinstance(item, UtcInstant):
        return 'sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")'
    if kind == "type" and isinstance(item, ExactDecimal):
        return "sa.Text()"
    return False


if context.is_offline_mode():
    raise SystemExit("Migrations run against a database; there is no offline mode.")

url = context.config.attributes.get("url") or read_url(Settings.from_environment().database_url)
engine = sync_engine(url, writes=True)
with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_item=render_item,
        render_as_batch=url.get_backend_name() == "sqlite",
        transaction_per_migration=True,
    )
    with context.begin_transaction():
        context.run_migrations()
engine.dispose()
