"""Connections to records on a database server, which is PostgreSQL.

One program writes at a time, as in a file: whoever writes takes a lock first, so that
the chain has one end. The records of a bench that were handed in have a schema of
their own, named in the URL as ``?bench=NAME``; anybody may read them, and only
`rig.records.hand_in` adds to them.
"""

from __future__ import annotations

import re
from typing import Final

import sqlalchemy
from sqlalchemy import Connection, Engine, event, text
from sqlalchemy.engine import URL

from rig.errors import InputError, RecordsError

WRITES: Final = "gapsweep_writes"
"""Execution option of connections that write."""
BENCH: Final = "bench"
"""Key of a URL that names a bench."""
_SCHEMA: Final = "bench_"
# What an identifier of the server may hold beside the start of its name, 63 bytes
_BENCH_NAME: Final = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
_DRIVER: Final = "postgresql+psycopg"
_CONNECT_WAIT_S: Final = 10
# A server that went away without a word is given up after as long
_SILENCE_MS: Final = 20_000
_SECRETS: Final = ("password", "sslpassword", "passfile")


def shown_url(url: URL) -> str:
    """Return a URL fit to be shown, without any password."""
    return url.difference_update_query(_SECRETS).render_as_string(hide_password=True)


def bench_of(url: URL) -> str:
    """Return the bench whose records a URL names; empty for none.

    Raises:
        InputError: No bench can have that name.
    """
    given = url.query.get(BENCH, "")
    name = given if isinstance(given, str) else given[-1]
    return name and checked_bench(name)


def checked_bench(name: str) -> str:
    """Return the name of a bench if it is one.

    Raises:
        InputError: It is none.
    """
    if _BENCH_NAME.fullmatch(name):
        return name
    raise InputError(
        f"{name!r} is no name of a bench on a server",
        hint="up to 40 small letters, digits, - and _, for example north-3",
    )


def schema_of(bench: str) -> str:
    """Return the schema that the records of a bench have on a server, not quoted."""
    return f"{_SCHEMA}{bench}"


def server_engine(
    url: URL, where: str, *, read_only: bool, lock_wait_s: float
) -> Engine:
    """Return what makes connections to a server.

    Args:
        url: URL of the server; may name a bench.
        where: The URL as it is shown.
        read_only: Whether the server refuses what would write.
        lock_wait_s: How long to wait for another program that is writing.

    Raises:
        InputError: The URL names a bench that cannot be.
        RecordsError: There is no such kind of server, or its driver is not installed.
    """
    bench = bench_of(url)
    if url.drivername == "postgresql":
        url = url.set(drivername=_DRIVER)
    settings: dict[str, str | int] = {
        "connect_timeout": _CONNECT_WAIT_S,
        "tcp_user_timeout": _SILENCE_MS,
    }
    if bench:
        settings["options"] = f'-csearch_path="{schema_of(bench)}"'
    if url.get_backend_name() != "postgresql":
        raise RecordsError(
            f"no kind of database that records can be in is called {url.drivername!r}",
            hint=f"give a file, or a server as in {_DRIVER}://user@host/name",
        )
    try:
        engine = sqlalchemy.create_engine(
            url.difference_update_query([BENCH]),
            connect_args=settings,
            # A connection from before the server was started again is noticed
            pool_pre_ping=True,
            # A run is read in several statements, which must see the same moment
            isolation_level="REPEATABLE READ",
        )
    except ImportError as exc:
        raise RecordsError(
            f"the driver for {where} is not installed: no module"
            f" {exc.name or 'of its library'}",
            hint="pip install 'gapsweep[server]'",
        ) from exc
    except sqlalchemy.exc.ArgumentError as exc:
        raise RecordsError(
            f"no kind of database is called {url.drivername!r}",
            hint=f"give a file, or a server as in {_DRIVER}://user@host/name",
        ) from exc
    if read_only:
        engine = engine.execution_options(postgresql_readonly=True)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        if connection.get_execution_options().get(WRITES, False):
            _take_turn(connection, lock_wait_s)

    return engine


def writing_options(engine: Engine) -> dict[str, object]:
    """Return the execution options of connections that write."""
    if engine.dialect.name == "sqlite":
        return {WRITES: True}
    # The view of a transaction begins when it has the lock and not before
    return {WRITES: True, "isolation_level": "READ COMMITTED"}


def _take_turn(connection: Connection, lock_wait_s: float) -> None:
    wait = f"{max(1, round(1000 * lock_wait_s))}ms"
    connection.execute(
        text("SELECT set_config('lock_timeout', :wait, true)"), {"wait": wait}
    )
    connection.execute(
        text(
            "SELECT pg_advisory_xact_lock("
            "hashtextextended('gapsweep ' || coalesce(current_schema(), ''), 0))"
        )
    )
