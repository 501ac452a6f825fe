"""The records as the screens read them: opened when first asked for, then kept open."""

from __future__ import annotations

import os
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Final

from rig.records import default_location
from rig.records.location import LOCATION_VARIABLE

if TYPE_CHECKING:
    from rig.records import Store

_BESIDE: Final = "reports"
_AMONG_DOCUMENTS: Final = "Gapsweep"


class OpenRecords:
    """Holds the records open; safe to ask from any thread."""

    def __init__(self, location: str) -> None:
        self._location = location
        self._lock = threading.Lock()
        self._store: Store | None = None

    def records(self) -> Store:
        """Return the records.

        Raises:
            RecordsError: They cannot be opened.
        """
        from rig.records import open_records

        with self._lock:
            if self._store is None:
                self._store = open_records(self._location)
            return self._store

    def close(self) -> None:
        """Let go of them."""
        with self._lock:
            if self._store is not None:
                self._store.close()
            self._store = None


def folder_beside(location: str) -> Path:
    """Return the folder for plans and reports: that of the records, if it is one."""
    if "://" in location:
        location = default_location()
    return Path(location).expanduser().parent


def folder_for_people(records: str | None) -> Path:
    """Return the folder for what people open by themselves: reports, exports.

    That is the folder `Gapsweep` among their documents; where somebody says which file
    of records to open, the folder `reports` beside it.

    Args:
        records: Records that somebody named; None for those by default.
    """
    named = records or os.environ.get(LOCATION_VARIABLE, "")
    if named and "://" not in named:
        return folder_beside(named) / _BESIDE
    import platformdirs

    return platformdirs.user_documents_path() / _AMONG_DOCUMENTS
