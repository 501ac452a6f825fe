"""The store of everything measured: schema, writer, reader, export.

The only package that imports SQLAlchemy. Knows no port, no procedure and no
formula: it keeps raw edges, and the figures that somebody else computes.

Each name is loaded when it is first asked for: the database library takes longer to
load than all else that the first screen needs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rig.records.checksum import edges_checksum as edges_checksum
    from rig.records.entries import Computation as Computation
    from rig.records.entries import ItemProgress as ItemProgress
    from rig.records.entries import PlanEntry as PlanEntry
    from rig.records.entries import PlanItem as PlanItem
    from rig.records.entries import PlanState as PlanState
    from rig.records.entries import RunCheck as RunCheck
    from rig.records.entries import RunFilter as RunFilter
    from rig.records.entries import RunSummary as RunSummary
    from rig.records.entries import make_run_id as make_run_id
    from rig.records.location import default_location as default_location
    from rig.records.reader import Reader as Reader
    from rig.records.store import Store as Store
    from rig.records.store import open_records as open_records
    from rig.records.store import records_file as records_file
    from rig.records.writer import Writer as Writer

_MODULES = {
    "edges_checksum": "checksum",
    "Computation": "entries",
    "RunCheck": "entries",
    "ItemProgress": "entries",
    "PlanEntry": "entries",
    "PlanItem": "entries",
    "PlanState": "entries",
    "RunFilter": "entries",
    "RunSummary": "entries",
    "make_run_id": "entries",
    "default_location": "location",
    "Reader": "reader",
    "Store": "store",
    "open_records": "store",
    "records_file": "store",
    "Writer": "writer",
}


def __getattr__(name: str) -> object:
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(f"{__name__}.{_MODULES[name]}"), name)
    globals()[name] = found
    return found
