"""The store of everything measured: schema, writer, reader, export.

The only package that imports SQLAlchemy. Knows no port, no procedure and no
formula: it keeps raw edges, and the figures that somebody else computes.
"""

from __future__ import annotations

from rig.records.checksum import edges_checksum
from rig.records.entries import (
    Computation,
    EdgesCheck,
    ItemProgress,
    PlanEntry,
    PlanItem,
    PlanState,
    RunFilter,
    RunSummary,
    make_run_id,
)
from rig.records.reader import Reader
from rig.records.store import Store, default_location, open_records, records_file
from rig.records.writer import Writer

__all__ = [
    "Computation",
    "EdgesCheck",
    "ItemProgress",
    "PlanEntry",
    "PlanItem",
    "PlanState",
    "Reader",
    "RunFilter",
    "RunSummary",
    "Store",
    "Writer",
    "default_location",
    "edges_checksum",
    "make_run_id",
    "open_records",
    "records_file",
]
