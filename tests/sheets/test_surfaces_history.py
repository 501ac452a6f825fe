"""Lots read alike on every surface: all of it comes from their one sheet."""

from __future__ import annotations

import pytest

from rig.cli.text.history_text import history_text
from rig.inquiry.nonconformity import Nonconformity, nonconformity_of
from rig.inquiry.supplier_history import ProductHistory
from rig.sheets.history_sheet import history_sheet
from rig.sheets.nonconformity_sheet import nonconformity_sheet
from rig.tui.inspector.history_lines import (
    head_lines,
    lot_cells,
    means_picture,
    shares_picture,
    word_lines,
)
from rig.version import SOFTWARE_VERSION
from tests.report.kinds import (
    HEAD,
    failing_lot,
    history_of_lots,
    nonconformity_letter,
    page_of_history,
    page_of_nonconformity,
)
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page: the count in "SIMULATED in part", "SHA-256", "Uncertainty (95 %)"
LAYOUT = {"95", "256", SOFTWARE_VERSION}


def on_screen(found: ProductHistory) -> str:
    sheet = history_sheet(found)
    texts = []
    for supplier, one in zip(found.suppliers, sheet.suppliers, strict=True):
        texts += [str(head_lines(sheet, one)), str(word_lines(one))]
        texts += [" ".join(row) for row in lot_cells(one)]
        for picture in (shares_picture(supplier, one), means_picture(supplier, one)):
            texts += [] if picture is None else picture.tell()
    return "\n".join(texts)


@pytest.mark.parametrize("surface", ["screen", "text", "page"])
def test_no_surface_has_a_number_of_lots_that_the_sheet_has_not(surface) -> None:
    found = history_of_lots()
    sheet = history_sheet(found)
    told = {
        "screen": lambda: on_screen(found),
        "text": lambda: history_text(sheet),
        "page": lambda: shown_text(page_of_history(found)),
    }[surface]()

    assert numbers_in(told) - numbers_of(sheet) <= LAYOUT
    rows = {row.share for one in sheet.suppliers for row in one.rows}
    assert all(share in told for share in rows)
    for one in sheet.suppliers:
        for sentence in (*one.charts, *one.trends, *one.statements):
            assert sentence in " ".join(told.split()) or surface == "page"


def test_the_page_of_a_nonconformity_has_no_number_that_its_sheet_has_not() -> None:
    found: Nonconformity = nonconformity_of(failing_lot())
    sheet = nonconformity_sheet(found)
    told = shown_text(page_of_nonconformity(nonconformity_letter()))

    known = numbers_of(sheet) | numbers_in(" ".join(HEAD.address))
    # The answers are numbered, and the title has the number of the document
    assert numbers_in(told) - known <= LAYOUT | {"1", "2", "3", "4"}
    for row in sheet.rows:
        for text in (row.part, row.figure, row.value, row.limits, row.measured):
            assert text in told
