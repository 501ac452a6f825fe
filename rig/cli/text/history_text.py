"""A product over its lots as plain text; rounds nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import SIMULATED, table
from rig.inquiry.supplier_history import SuppliedProduct
from rig.sheets.history_sheet import NOBODY, HistorySheet, SupplierSheet

_HEAD = (
    *("No.", "lot", "begun", "size", "inspected", "fail", "undecided", "share"),
    *("mean", "s", "decision", ""),
)


def history_text(sheet: HistorySheet) -> str:
    """Return each supplier with its lots, charts and trends."""
    blocks = [f"{sheet.product}: {sheet.lead}", *map(_supplier, sheet.suppliers)]
    if sheet.simulated and sheet.simulated == sheet.total:
        blocks.insert(0, SIMULATED)
    return "\n\n".join(blocks)


def _supplier(one: SupplierSheet) -> str:
    rows = [
        (
            *(row.number, row.lot_id, row.begun, row.size, row.inspected),
            *(row.failing, row.undecided, row.share, row.mean, row.deviation),
            row.decision,
            "SIMULATED" if row.simulated else "",
        )
        for row in one.rows
    ]
    lines = [f"{one.name}: {one.lead}", table(_HEAD, rows)]
    return "\n".join([*lines, *one.charts, *one.trends, *one.statements])


def supplied_text(found: Sequence[SuppliedProduct]) -> str:
    """Return products and suppliers as a table."""
    if not found:
        return "No lot on record."
    head = ("product", "supplier", "lots", "accepted", "not accepted")
    rows = [
        (
            one.product,
            one.supplier or NOBODY,
            *(str(n) for n in (one.lots, one.accepted, one.not_accepted)),
        )
        for one in found
    ]
    return table(head, rows)
