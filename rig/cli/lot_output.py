"""Lots as commands show them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rig.cli.output import say, say_document

if TYPE_CHECKING:
    from rig.records import Store


def say_every_lot(store: Store, *, as_json: bool) -> None:
    """Say which lots are on record, in words or as JSON."""
    from rig.cli.text.lot_text import lots_text
    from rig.inquiry.lot import every_standing, lots_list
    from rig.sheets.lot_sheet import lot_head

    standings = every_standing(store)
    if as_json:
        say_document("lots", lots_list(standings))
    else:
        say(lots_text(tuple(map(lot_head, standings))))


def say_lot(store: Store, lot_id: str, *, as_json: bool) -> None:
    """Say what is on record of a lot, in words or as JSON."""
    from rig.cli.text.lot_text import lot_text
    from rig.inquiry.lot_evidence import lot_document, lot_evidence
    from rig.sheets.lot_sheet import lot_sheet

    found = lot_evidence(store, lot_id)
    if as_json:
        say_document("lot", lot_document(found))
    else:
        say(lot_text(lot_sheet(found)))
