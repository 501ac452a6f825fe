"""The workbook: heads with units, numbers as numbers, text as text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from openpyxl import load_workbook

from rig.errors import InputError
from rig.inquiry.judged_rows import WORKED_OUT
from rig.records import Reader, Store, Writer
from rig.records.export_columns import COLUMNS, ExportTable, Kind
from rig.records.workbook_output import (
    WORKBOOK_TABLES,
    export_workbook,
    head_of,
)
from tests.records.full_records import enter_what_people_enter

# What a spreadsheet would take for a formula, a number or a day, were it not text
NASTY = (
    '=HYPERLINK("HTTP://EXAMPLE.ORG")',
    "+1+1",
    "-2",
    "@SUM(1)",
    "0012",
    "3-4",
    "1E5",
)


@pytest.fixture
def nasty(writer: Writer, store: Store, samples: ModuleType) -> list[str]:
    """Runs of parts with such names, among all else that can be on record."""
    parts = []
    for number, part in enumerate(NASTY):
        header = replace(samples.header(number), part=part)
        writer.begin_run(header)
        writer.add_sweep(header.run_id, samples.sweep(0))
        writer.add_figures(header.run_id, samples.figures(), computed_at=samples.NOON)
        writer.end_run(header.run_id, ended_at=samples.NOON, home_shift_steps=0)
        parts.append(header.run_id)
    enter_what_people_enter(store, parts[0], samples)
    return parts


@pytest.fixture
def book(reader: Reader, nasty: list[str], tmp_path: Path) -> Iterator[Any]:
    path = tmp_path / "records.xlsx"
    export_workbook(reader, path, worked_out=WORKED_OUT)
    book = load_workbook(path)
    yield book
    book.close()


def sheet_of(book: Any, table: ExportTable) -> Any:
    return book[table.value.replace("_", " ")]


def rows_of(book: Any, table: ExportTable) -> list[dict[str, Any]]:
    head, *rows = sheet_of(book, table).iter_rows()
    assert [cell.value for cell in head] == [head_of(table, n) for n in COLUMNS[table]]
    return [dict(zip(COLUMNS[table], row, strict=True)) for row in rows]


def test_every_table_but_the_edges_has_a_sheet_with_frozen_heads_and_a_filter(
    book: Any,
) -> None:
    assert set(ExportTable) - set(WORKBOOK_TABLES) == {ExportTable.EDGES}
    assert len(book.worksheets) == len(WORKBOOK_TABLES)
    for table in WORKBOOK_TABLES:
        sheet = sheet_of(book, table)
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref == sheet.dimensions


@pytest.mark.long
def test_every_cell_is_of_the_kind_of_its_column_and_none_is_a_formula(
    book: Any, nasty: list[str]
) -> None:
    for table in WORKBOOK_TABLES:
        for row in rows_of(book, table):
            for name, cell in row.items():
                if cell.value is None:
                    continue
                kind = COLUMNS[table][name]
                if kind in (Kind.TEXT, Kind.TIME, Kind.TRUTH):
                    wanted = {"s"}
                else:
                    wanted = {"s"} if cell.value == "inf" else {"n"}
                assert cell.data_type in wanted, (table, name, cell.value)
                assert cell.is_date is False


def test_parts_keep_their_names_and_stand_in_a_row_with_a_column_a_figure(
    book: Any, nasty: list[str]
) -> None:
    rows = {row["part"].value: row for row in rows_of(book, ExportTable.PARTS)}

    assert set(rows) == set(NASTY)
    row = rows["0012"]
    assert row["operate_mm"].value == 7.9
    assert row["operate_expanded_uncertainty_mm"].value == 0.0123
    assert row["operate_n"].value == 10
    assert row["differential_travel_percent"].value == 13.9
    assert row["simulated"].value == "SIMULATED"
    assert row["part"].number_format == "@"
    assert row["operate_mm"].number_format == "0.0000"
    assert row["without_uncertainty"].value == (
        "repeat accuracy, short term: a range of ten readings, stated as it is"
    )


def test_heads_have_words_and_the_unit_in_brackets() -> None:
    assert head_of(ExportTable.PARTS, "operate_mm") == "operate point (mm)"
    assert (
        head_of(ExportTable.PARTS, "operate_expanded_uncertainty_mm")
        == "operate point, ± (mm)"
    )
    assert head_of(ExportTable.SWEEPS, "speed_mm_s") == "speed (mm/s)"
    assert head_of(ExportTable.RUNS, "steps_per_mm") == "steps per mm"
    assert head_of(ExportTable.RUNS, "started_at") == "started (UTC)"
    for table in WORKBOOK_TABLES:
        heads = [head_of(table, name) for name in COLUMNS[table]]
        assert len(set(heads)) == len(heads), table


def test_a_text_that_no_cell_holds_is_cut_and_says_so(
    writer: Writer, reader: Reader, samples: ModuleType, tmp_path: Path
) -> None:
    writer.begin_plan(replace(samples.plan(), toml_text="#" * 40_000))
    path = tmp_path / "long.xlsx"

    export_workbook(reader, path, worked_out=WORKED_OUT)

    book = load_workbook(path)
    (row,) = rows_of(book, ExportTable.PLANS)
    assert len(row["file"].value) == 32_767  # the longest that a cell may hold
    assert row["file"].value.endswith("… (cut: 40000 characters; whole in CSV)")


def test_a_table_that_is_longer_than_a_sheet_is_refused_and_leaves_no_file(
    reader: Reader, nasty: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rig.records.workbook_output._MOST_ROWS", 3)

    with pytest.raises(InputError, match="the table runs has more rows than a sheet"):
        export_workbook(reader, tmp_path / "b.xlsx", worked_out=WORKED_OUT)

    assert list(tmp_path.glob("*.xlsx*")) == []


def test_a_workbook_is_never_overwritten(
    reader: Reader, nasty: list[str], tmp_path: Path
) -> None:
    path = tmp_path / "mine.xlsx"
    path.write_text("mine")

    with pytest.raises(InputError, match="already exists and is not overwritten"):
        export_workbook(reader, path, worked_out=WORKED_OUT)

    assert path.read_text() == "mine"
