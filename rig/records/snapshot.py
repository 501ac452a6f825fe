"""The records at one moment: every read of a block sees the same."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from rig.records.store import Store


class _Snapshot(Store):
    """Records whose every reading shares one transaction; nothing can be written."""

    def __init__(self, store: Store, connection: Connection) -> None:
        super().__init__(connection.engine, where=store.where, read_only=True)
        self._connection = connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give the transaction that all readings of the block share."""
        yield self._connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Refuse: what was read could no longer be relied on."""
        raise TypeError("a snapshot of the records is for reading only")
        yield self._connection

    def close(self) -> None:
        """Leave the connections open; they belong to the records themselves."""


@contextmanager
def snapshot(store: Store) -> Iterator[Store]:
    """Give the records as they are at one moment, for reading only.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        yield _Snapshot(store, connection)
