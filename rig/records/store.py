"""Opens the records: a SQLite file, or a database server behind a URL.

Knows how a connection is set up and how a transaction begins; not what is in it.
A SQLite file keeps a write-ahead log beside it while it is open, so it belongs
on a local disk: that log does not work over a network file system.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, NoReturn, Self

import sqlalchemy
from sqlalchemy import Connection, Engine, event
from sqlalchemy.engine import URL, make_url

from rig.errors import NoRecords, RecordsError
from rig.records import migration, schema
from rig.records.columns import metadata
from rig.records.failures import told_plainly
from rig.records.guards import guards_lacking, put_guards
from rig.records.missing_log import lies_without_log, log_beside, without_log
from rig.records.server_engine import (
    WRITES,
    bench_of,
    server_engine,
    shown_url,
    writing_options,
)
from rig.version import SOFTWARE_VERSION

LOCK_WAIT_S = 10.0  # a commit takes milliseconds; whoever holds longer is stuck
_LOCK_RETRY_S = 0.02


def records_file(location: str) -> Path | None:
    """Return the file that a location of records names; None for a server.

    Raises:
        RecordsError: It is neither a file nor a database URL.
    """
    url = _url_of(location)
    if url.get_backend_name() != "sqlite" or not url.database:
        return None
    return Path(url.database)


class Store:
    """Open records; close them, or use them as a context.

    Safe to share between threads: each transaction takes its own connection.

    Attributes:
        where: The location, fit to be shown (a password is left out).
        read_only: Whether writing is refused.
    """

    def __init__(
        self, engine: Engine, *, url: URL, where: str, read_only: bool
    ) -> None:
        self.where = where
        self.read_only = read_only
        self._url = url
        self._engine = engine
        self._writing_engine = engine.execution_options(**writing_options(engine))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a transaction that sees the records at one moment.

        Raises:
            RecordsError: The records cannot be read.
        """
        with told_plainly(self.where), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a transaction that is on disk, as a whole, when the block is left.

        Raises:
            RecordsError: The records cannot be written; nothing of the block is kept.
        """
        with told_plainly(self.where), self._writing_engine.begin() as connection:
            yield connection

    @property
    def location(self) -> str:
        """What another process opens the same records by; may hold a password."""
        return self._url.render_as_string(hide_password=False)

    @property
    def bench(self) -> str:
        """The bench that handed the records in to a server; empty for all others."""
        return bench_of(self._url)

    @property
    def on_server(self) -> bool:
        """Whether the records are on a database server, and not a file."""
        return self._engine.dialect.name != "sqlite"

    def show_as_current(self, found: int) -> None:
        """Show records of an earlier version, which may not be written, as today's.

        Raises:
            RecordsError: They are on a server, which must be upgraded first.
        """
        if self.on_server:
            raise RecordsError(
                f"the records {self.where} were written by an earlier version of "
                f"gapsweep (form {found}) and are opened for reading only",
                hint="let the owner of the records open them once, which adds what they"
                " lack",
            )
        self._engine.dispose()

        @event.listens_for(self._engine, "connect")
        def add_views(connection: sqlite3.Connection, _record: object) -> None:
            connection.execute("PRAGMA temp_store = MEMORY")
            for view in migration.views_of_earlier_records(found):
                connection.execute(view)

    @contextmanager
    def snapshot(self) -> Iterator[Store]:
        """Give the same records as they are at one moment; they cannot be written.

        All that is read from it is read in one transaction, so that what others
        write in the meantime is not seen. Use it in one thread.

        Raises:
            RecordsError: The records cannot be read.
        """
        with self.reading() as connection:
            yield _Snapshot(self, connection)

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


class _Snapshot(Store):
    """Records at one moment: every reading is part of one transaction."""

    def __init__(self, store: Store, connection: Connection) -> None:
        super().__init__(
            store._engine, url=store._url, where=store.where, read_only=True
        )
        self._connection = connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give the transaction of the snapshot."""
        with told_plainly(self.where):
            yield self._connection

    def writing(self) -> NoReturn:
        """Refuse: what is written now is no part of that moment.

        Raises:
            RecordsError: Always.
        """
        raise RecordsError(
            f"a snapshot of the records {self.where} cannot be written",
            hint="write to the records themselves",
        )

    def close(self) -> None:
        """Leave the connections to the records that the snapshot is of."""


def open_records(
    location: str | Path,
    *,
    create: bool = True,
    read_only: bool = False,
    handing_in: bool = False,
    lock_wait_s: float = LOCK_WAIT_S,
) -> Store:
    """Open the records, and make them if they are not there yet.

    Args:
        location: Path of a SQLite file, or a database URL.
        create: Make the file and its folders, or the tables on a server.
        read_only: Refuse to write; never creates. For a file on a medium that
            cannot be written too.
        handing_in: Let records of a bench on a server be added to, which are for
            reading only otherwise.
        lock_wait_s: How long to wait for another program that is writing.

    Raises:
        InputError: The URL names a bench that cannot be.
        RecordsError: Missing, not records, locked, damaged, no room, no right, or
            written by a later version of this software.
    """
    url = _url_of(location)
    create = create and not read_only
    alone = False
    if url.get_backend_name() == "sqlite":
        where = url.database or ":memory:"
        with told_plainly(where):
            _check_path(where, create=create)
            # Asked first: opening it lays a log beside it
            alone = lies_without_log(where)
        engine = _sqlite_engine(url, read_only=read_only, lock_wait_s=lock_wait_s)
    else:
        where = shown_url(url)
        read_only = read_only or (bool(bench_of(url)) and not handing_in)
        create = create and not read_only
        engine = server_engine(url, where, read_only=read_only, lock_wait_s=lock_wait_s)
    store = Store(engine, url=url, where=where, read_only=read_only)
    try:
        if create and engine.dialect.name == "sqlite":
            with told_plainly(where):
                _use_write_ahead_log(engine, lock_wait_s)
        _check_schema(store, create=create, alone=alone)
    except BaseException:
        store.close()
        raise
    return store


def _url_of(location: str | Path) -> URL:
    text = os.fspath(location)
    if "://" not in text:
        return URL.create("sqlite", database=os.path.expanduser(text))
    try:
        return make_url(text)
    except sqlalchemy.exc.ArgumentError as exc:
        raise RecordsError(
            f"{text.partition('://')[0]}:// is neither a file nor a database URL",
            hint="for example measured.sqlite or postgresql+psycopg://user@host/name",
        ) from exc


def _check_path(where: str, *, create: bool) -> None:
    path = Path(where)
    if where == ":memory:" or path.is_file():
        return
    if path.is_dir():
        raise RecordsError(
            f"{where} is a folder, not a records file",
            hint=f"name a file in it, for example {path / 'gapsweep.sqlite'}",
        )
    if not create:
        raise NoRecords(
            f"there are no records at {where}",
            hint="check --records; the file is made when something is measured",
        )
    path.parent.mkdir(parents=True, exist_ok=True)


def _sqlite_engine(url: URL, *, read_only: bool, lock_wait_s: float) -> Engine:
    if read_only and url.database:
        mode = "mode=ro" + ("&immutable=1" if _cannot_change(url.database) else "")
        database = f"{Path(url.database).absolute().as_uri()}?{mode}&uri=true"
        url = make_url(f"sqlite:///{database.replace('%', '%25')}")
    engine = sqlalchemy.create_engine(url, connect_args={"timeout": lock_wait_s})

    @event.listens_for(engine, "connect")
    def set_up(connection: sqlite3.Connection, _record: object) -> None:
        # The driver's own habit of beginning transactions late is switched off:
        # a writer must take the lock first, or it may find its view outdated
        connection.isolation_level = None
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        # A page that is damaged is told when it is read, before what it says is used
        connection.execute("PRAGMA cell_size_check = ON")
        # Its own knows the letters of English only
        connection.create_function("lower", 1, _lower, deterministic=True)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _lower(value: str | float | bytes | None) -> str | float | bytes | None:
    return value.lower() if isinstance(value, str) else value


def _cannot_change(database: str) -> bool:
    """Whether nobody can be writing: the folder is closed and no log lies there.

    SQLite opens a file in a folder that cannot be written only on this promise.
    """
    closed = not os.access(Path(database).absolute().parent, os.W_OK)
    return closed and not log_beside(database).exists()


def _use_write_ahead_log(engine: Engine, lock_wait_s: float) -> None:
    """Switch the file to write-ahead logging, which stays with it.

    SQLite does not wait for a lock here as it does elsewhere.
    """
    give_up_at = time.monotonic() + lock_wait_s
    raw = engine.raw_connection()
    try:
        while True:
            try:
                with closing(raw.cursor()) as cursor:
                    cursor.execute("PRAGMA journal_mode = WAL")
                    # Reading lays the log beside the file, as another program expects
                    cursor.execute("SELECT count(*) FROM sqlite_master").fetchall()
            except sqlite3.OperationalError as exc:
                busy = exc.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
                if not busy or time.monotonic() > give_up_at:
                    raise
                time.sleep(_LOCK_RETRY_S)
            else:
                return
    finally:
        raw.close()


def _check_schema(store: Store, *, create: bool, alone: bool) -> None:
    with store.reading() as connection:
        version = _schema_version(connection, store.where)
    if version is None:
        if not create and store.bench:
            raise NoRecords(
                f"the server has no bench {store.bench!r}: {store.where}",
                hint="its owner admits one by `gapsweep sync --admit`",
            )
        if not create:
            raise without_log(store.where) if alone else _not_records(store.where)
        with store.writing() as connection:
            # Another process may have made the tables in between
            version = _schema_version(connection, store.where)
            if version is None:
                if alone:
                    raise without_log(store.where)
                migration.create(connection, SOFTWARE_VERSION)
                return
    if version > schema.SCHEMA_VERSION:
        raise RecordsError(
            f"the records {store.where} were written by a later version of gapsweep "
            f"(form {version}; this one knows up to {schema.SCHEMA_VERSION})",
            hint="install the current version of gapsweep",
        )
    if version < schema.SCHEMA_VERSION and store.read_only:
        store.show_as_current(version)
    elif version < schema.SCHEMA_VERSION and store.on_server and not create:
        raise RecordsError(
            f"the records {store.where} are of an earlier version of gapsweep (form"
            f" {version}; this one writes {schema.SCHEMA_VERSION})",
            hint="have the owner of the server admit the bench once more: `gapsweep"
            " sync --admit`",
        )
    elif version < schema.SCHEMA_VERSION:
        with store.writing() as connection:
            # Another process may have been quicker
            now = _schema_version(connection, store.where) or version
            migration.upgrade(connection, now, SOFTWARE_VERSION)
    if create and store.on_server:
        # On a server there were none before the software knew any for it
        with store.reading() as connection:
            lacking = guards_lacking(connection)
        if lacking:
            with store.writing() as connection:
                put_guards(connection)


def _schema_version(connection: Connection, where: str) -> int | None:
    """Return the version on record; None for an empty database."""
    inspector = sqlalchemy.inspect(connection)
    names = set(inspector.get_table_names())
    if schema.schema_table.name in names:
        version = sqlalchemy.func.max(schema.schema_table.c.version)
        found: Any = connection.scalar(sqlalchemy.select(version))
        if found is not None:
            return int(found)
    if names & set(metadata.tables) or (names and connection.dialect.name == "sqlite"):
        raise _not_records(where)
    return None


def _not_records(where: str) -> RecordsError:
    return RecordsError(
        f"{where} is a database, but not one of gapsweep's records",
        hint="give --records the file that gapsweep made, or one that is not there yet",
    )
