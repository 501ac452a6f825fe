"""Studies of a gauge read alike on every surface: all of it comes from one sheet."""

from __future__ import annotations

import pytest

from rig.cli.text.gauge_text import gauge_text
from rig.sheets.gauge_sheet import GaugeSheet, gauge_sheet
from rig.tui.technician.gauge_lines import (
    gauge_figures,
    gauge_head,
    gauge_methods,
    gauge_source,
    gauge_tables,
)
from rig.version import SOFTWARE_VERSION
from tests.report.gauge_kinds import GAUGE_RESULTS, page_of_gauge
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text


def on_screen(sheet: GaugeSheet) -> str:
    """Return all that the terminal UI says of a study of a gauge."""
    pages = (gauge_head, gauge_figures, gauge_tables, gauge_methods, gauge_source)
    return "\n".join(str(page(sheet)) for page in pages)


@pytest.mark.long
@pytest.mark.parametrize("kind", GAUGE_RESULTS)
def test_every_number_of_text_and_page_is_one_of_the_sheet(kind: str) -> None:
    result = GAUGE_RESULTS[kind]()
    sheet = gauge_sheet(result)
    known = numbers_of(sheet)

    text = numbers_in(gauge_text(sheet))
    page = numbers_in(shown_text(page_of_gauge(result)))
    screen = numbers_in(on_screen(sheet))

    assert text <= known
    assert screen <= known
    assert len(screen) > 8
    assert page <= known | {SOFTWARE_VERSION}
    assert len(text) > 8
    assert len(page) > 8


@pytest.mark.parametrize("kind", GAUGE_RESULTS)
def test_figures_and_tables_stand_whole_in_text_and_page(kind: str) -> None:
    result = GAUGE_RESULTS[kind]()
    sheet = gauge_sheet(result)
    text = " ".join(gauge_text(sheet).split())
    rows = [row.text for row in page_tree(page_of_gauge(result)).all("tr")]

    for row in sheet.matter.figures:
        cells = f"{row.name} {row.value} {row.interval} {row.unit}"
        assert " ".join(cells.split()) in text
        assert any(f"{row.value}{row.interval}{row.unit}" in one for one in rows)
    assert len(sheet.readings.rows) == sheet.total
    for cells in (sheet.readings.head, *sheet.readings.rows):
        assert "".join(cells) in rows
    for table in sheet.matter.tables:
        for cells in (table.head, *table.rows):
            assert " ".join(" ".join(cells).split()) in text
            assert "".join(cells) in rows


@pytest.mark.parametrize("kind", GAUGE_RESULTS)
def test_every_sentence_stands_on_both_surfaces(kind: str) -> None:
    result = GAUGE_RESULTS[kind]()
    sheet = gauge_sheet(result)
    page = shown_text(page_of_gauge(result))

    for sentence in (*sheet.matter.methods, *sheet.statements, sheet.matter.drawn):
        assert sentence in gauge_text(sheet)
        assert sentence in on_screen(sheet)
        assert sentence in page
