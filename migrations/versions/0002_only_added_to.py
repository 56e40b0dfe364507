"""History is only added to, and revisions have no gaps: held by the database itself.

Revision: 0002, after 0001
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# Table -> its keys. SQLite's INSERT OR REPLACE deletes the row in the way without firing its
# delete trigger, so on SQLite every key is also guarded on insert.
KEYS: dict[str, tuple[tuple[str, ...], ...]] = {
    "revisions": (("revision",),),
    "regions": (("code",),),
    "yards": (("slug",),),
    "yard_labels": (("yard", "label_folded", "valid_from", "revision"),),
    "yard_refusals": (("yard", "grade", "valid_from", "revision"),),
    "postings": (("id",), ("revision",)),
    "entries": (("revision", "line"),),
    "rulebooks": (("version",),),
    "valuations": (("id",),),
}
BIRTH = {"sqlite": "'1970-01-01T00:00:00.000000Z'", "postgresql": "'1970-01-01T00:00:00Z'"}


def upgrade() -> None:
    dialect = op.get_bind().dialect.name
    for statement in _sqlite() if dialect == "sqlite" else _postgresql():
        op.get_bind().exec_driver_sql(statement)
    op.get_bind().exec_driver_sql(
        f"INSERT INTO ledger (id, revision, recorded_at) VALUES (1, 0, {BIRTH[dialect]})"  # noqa: S608 - names of this file
    )


def _refuse(what: str) -> str:
    return f"SELECT RAISE(ABORT, '{what}');"


def _sqlite() -> list[str]:
    statements = []
    for table, keys in KEYS.items():
        only_added = _refuse(f"{table}: history is only added to")
        there = " OR ".join("(" + " AND ".join(f"{c} = NEW.{c}" for c in key) + ")" for key in keys)
        statements += [
            f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN {only_added} END",
            f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN {only_added} END",
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "  # noqa: S608 - names of this file
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {there}) "
            f"BEGIN {_refuse(f'UNIQUE: {table}: this key is there already')} END",
        ]
    ledger_steps = _refuse("ledger: the revision grows by one at a time")
    one_ledger = _refuse("ledger: there is one row")
    in_step = _refuse("revisions: written by the ledger alone")
    return [
        *statements,
        "CREATE TRIGGER ledger_one_row BEFORE INSERT ON ledger "  # noqa: S608 - names of this file
        f"WHEN EXISTS (SELECT 1 FROM ledger) BEGIN {one_ledger} END",
        f"CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger BEGIN {one_ledger} END",
        "CREATE TRIGGER ledger_steps BEFORE UPDATE ON ledger "
        "WHEN NEW.id IS NOT OLD.id OR NEW.revision IS NOT OLD.revision + 1 "
        f"OR NEW.recorded_at IS NULL OR NEW.recorded_at < OLD.recorded_at BEGIN {ledger_steps} END",
        "CREATE TRIGGER ledger_log AFTER UPDATE ON ledger BEGIN "
        "INSERT INTO revisions (revision, recorded_at) VALUES (NEW.revision, NEW.recorded_at); END",
        "CREATE TRIGGER revisions_in_step BEFORE INSERT ON revisions "  # noqa: S608 - names of this file
        f"WHEN NEW.revision IS NOT (SELECT revision FROM ledger) BEGIN {in_step} END",
    ]


def _function(name: str, body: str) -> str:
    return f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$"


def _postgresql() -> list[str]:
    raise_it = (
        "RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || ': history is only added to', "
        "ERRCODE = 'restrict_violation';"
    )
    steps = (
        "IF NEW.id <> OLD.id OR NEW.revision <> OLD.revision + 1 OR NEW.recorded_at < OLD.recorded_at THEN "
        "RAISE EXCEPTION 'ledger: the revision grows by one at a time' USING ERRCODE = 'restrict_violation'; "
        "END IF; RETURN NEW;"
    )
    log = "INSERT INTO revisions (revision, recorded_at) VALUES (NEW.revision, NEW.recorded_at); RETURN NULL;"
    in_step = (
        "IF NEW.revision IS DISTINCT FROM (SELECT revision FROM ledger) THEN "
        "RAISE EXCEPTION 'revisions: written by the ledger alone' USING ERRCODE = 'restrict_violation'; "
        "END IF; RETURN NEW;"
    )
    return [
        _function("gw_only_added_to", raise_it),
        _function("gw_ledger_steps", steps),
        _function("gw_ledger_log", log),
        _function("gw_revisions_in_step", in_step),
        *(
            f"CREATE TRIGGER {table}_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()"
            for table in KEYS
        ),
        "CREATE TRIGGER ledger_stays BEFORE DELETE OR TRUNCATE ON ledger "
        "FOR EACH STATEMENT EXECUTE FUNCTION gw_only_added_to()",
        "CREATE TRIGGER ledger_steps BEFORE UPDATE ON ledger FOR EACH ROW EXECUTE FUNCTION gw_ledger_steps()",
        "CREATE TRIGGER ledger_log AFTER UPDATE ON ledger FOR EACH ROW EXECUTE FUNCTION gw_ledger_log()",
        "CREATE TRIGGER revisions_in_step BEFORE INSERT ON revisions "
        "FOR EACH ROW EXECUTE FUNCTION gw_revisions_in_step()",
    ]


def downgrade() -> None:
    raise NotImplementedError("History is only added to: restore a backup instead.")
