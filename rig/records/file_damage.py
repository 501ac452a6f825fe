"""What the database itself says of damage to a file of records."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection

_MOST_SAID: Final = 5


def damage_to_file(connection: Connection) -> tuple[str, ...]:
    """Return what is damaged in the file, in words; nothing for a server.

    Args:
        connection: Connection of a transaction under way.
    """
    if connection.dialect.name != "sqlite":
        return ()
    check = connection.exec_driver_sql(f"PRAGMA integrity_check({_MOST_SAID})")
    found = [str(line) for (line,) in check]
    return () if found == ["ok"] else tuple(found)
