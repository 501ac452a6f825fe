"""Guards of the records: triggers, in each dialect, that let rows only be added.

They guard against accidents and careless tools, not against someone who drops them;
the chain of the records shows that. On a server only the owner of the tables can, and
those who add or read have no more rights than that (`rig.records.bench_rights`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from sqlalchemy import Connection, Table, text

from rig.records.schema import FREE, IN_OPEN_RUN, KEPT, RUN_ENDING, runs

_KEPT_WORDS: Final = "what was measured is kept for ever and never altered"
_RUN_ENDED: Final = "the run has ended"
_REFUSE: Final = "gapsweep_refuse"
_IN_OPEN_RUN: Final = "gapsweep_in_open_run"


def put_guards(connection: Connection, tables: Sequence[Table] = KEPT) -> None:
    """Put the guards of these tables, inside a transaction."""
    if connection.dialect.name == "sqlite":
        for guard in _sqlite_guards(tables).values():
            connection.exec_driver_sql(guard)
        return
    for function in _server_functions(_schema_of(connection)):
        connection.exec_driver_sql(function)
    for name, (table, guard) in _server_guards(tables).items():
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name} ON {table.name}")
        connection.exec_driver_sql(guard)


def take_guards_off(connection: Connection, tables: Sequence[Table]) -> None:
    """Take the guards off tables that are about to get new columns."""
    if connection.dialect.name == "sqlite":
        for name in _sqlite_guards(tables):
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
        return
    for name, (table, _) in _server_guards(tables).items():
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name} ON {table.name}")


def guards_lacking(connection: Connection) -> bool:
    """Return whether records on a server have not all of their guards."""
    found = connection.scalars(
        text(
            "SELECT t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
            " JOIN pg_namespace n ON n.oid = c.relnamespace"
            " WHERE n.nspname = current_schema() AND NOT t.tgisinternal"
        )
    )
    return not _server_guards(KEPT).keys() <= set(found)


def _sqlite_guards(tables: Iterable[Table]) -> dict[str, str]:
    guards: dict[str, str] = {}
    for table in tables:
        name = table.name
        there = f"it is in {name} already"
        guards |= _guard(f"{name}_stay", f"DELETE ON {name}", "", _KEPT_WORDS)
        guards |= _guard(f"{name}_unaltered", _altering(table), "", _KEPT_WORDS)
        guards |= _guard(f"{name}_once", f"INSERT ON {name}", _present(table), there)
        if table in IN_OPEN_RUN:
            when, closed = f"INSERT ON {name}", _ended("NEW.run_id")
            guards |= _guard(f"{name}_in_open_run", when, closed, _RUN_ENDED)
        if table is runs:
            over = "OLD.ended_at IS NOT NULL"
            guards |= _guard("runs_end_once", _ENDING, over, _RUN_ENDED)
    return guards


def _guard(name: str, when: str, condition: str, sentence: str) -> dict[str, str]:
    where = f" WHEN {condition}" if condition else ""
    return {
        name: f"CREATE TRIGGER {name} BEFORE {when}{where} "
        f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
    }


def _server_guards(tables: Iterable[Table]) -> dict[str, tuple[Table, str]]:
    """Return tables and triggers by name.

    That no row comes twice needs none: there is no "INSERT OR REPLACE" on a server.
    """
    guards: dict[str, tuple[Table, str]] = {}
    for table in tables:
        name = table.name
        each = f"FOR EACH ROW EXECUTE FUNCTION {_REFUSE}('{_KEPT_WORDS}')"
        all_at_once = each.replace("EACH ROW", "EACH STATEMENT")
        triggers = {
            f"{name}_stay": f"BEFORE DELETE ON {name} {each}",
            f"{name}_not_emptied": f"BEFORE TRUNCATE ON {name} {all_at_once}",
            f"{name}_unaltered": f"BEFORE {_altering(table)} {each}",
        }
        if table in IN_OPEN_RUN:
            # Once a statement: very many edges are handed in by one
            triggers[f"{name}_in_open_run"] = (
                f"AFTER INSERT ON {name} REFERENCING NEW TABLE AS added"
                f" FOR EACH STATEMENT EXECUTE FUNCTION {_IN_OPEN_RUN}()"
            )
        if table is runs:
            triggers["runs_end_once"] = (
                f"BEFORE {_ENDING} FOR EACH ROW WHEN (OLD.ended_at IS NOT NULL)"
                f" EXECUTE FUNCTION {_REFUSE}('{_RUN_ENDED}')"
            )
        for trigger, what in triggers.items():
            guards[trigger] = table, f"CREATE TRIGGER {trigger} {what}"
    return guards


def _server_functions(schema: str) -> tuple[str, str]:
    """Return the functions that the triggers call.

    Args:
        schema: Where the tables are, quoted: whoever adds rows sets no path to others.
    """
    head = "RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
    raised = "RAISE EXCEPTION USING ERRCODE = 'check_violation', MESSAGE ="
    return (
        f"CREATE OR REPLACE FUNCTION {_REFUSE}() {head} {raised} TG_ARGV[0]; END $$",
        f"CREATE OR REPLACE FUNCTION {_IN_OPEN_RUN}() {head}"
        f" IF EXISTS (SELECT 1 FROM added JOIN {schema}.runs AS r"
        f" USING (run_id) WHERE r.ended_at IS NOT NULL)"
        f" THEN {raised} '{_RUN_ENDED}'; END IF; RETURN NULL; END $$",
    )


def _schema_of(connection: Connection) -> str:
    name = connection.scalar(text("SELECT current_schema()"))
    return connection.dialect.identifier_preparer.quote(str(name))


def _altering(table: Table) -> str:
    if table not in FREE:
        return f"UPDATE ON {table.name}"
    kept = ", ".join(c.name for c in table.columns if c.name not in FREE[table])
    return f"UPDATE OF {kept} ON {table.name}"


_ENDING: Final = f"UPDATE OF {', '.join(RUN_ENDING[1:])} ON runs"


def _ended(run: str) -> str:
    return f"EXISTS (SELECT 1 FROM runs WHERE run_id = {run} AND ended_at IS NOT NULL)"


def _present(table: Table) -> str:
    """Return the condition that a row with the new row's key is there already.

    "INSERT OR REPLACE" deletes without firing a delete trigger, hence this.
    """
    key = " AND ".join(f"{c.name} = NEW.{c.name}" for c in table.primary_key)
    return f"EXISTS (SELECT 1 FROM {table.name} WHERE {key})"
