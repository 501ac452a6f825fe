"""What is exported, opened in a spreadsheet program: numbers are numbers, no days."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

from rig.inquiry.judged_rows import WORKED_OUT
from rig.model.number_input import DecimalMark
from rig.records import Reader
from rig.records.export import ExportFormat, export_all
from rig.records.export_columns import COLUMNS, ExportTable, Kind
from rig.records.workbook_output import WORKBOOK_TABLES, export_workbook
from tests.patience import PATIENCE_S
from tests.records.test_workbook_output import NASTY, nasty

__all__ = ["nasty"]
pytestmark = pytest.mark.long

PROGRAM = shutil.which("soffice")
# Names of OpenDocument 1.3, part 3 (OASIS), as the program writes them
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
# Filter of its text import: cells parted by, quoted by, UTF-8, from line 1, language
# (1033 English, 1031 German), and that whatever looks like a day is taken for one
CSV = "Text - txt - csv (StarCalc):{between},34,76,1,,{language},false,true"

WITHOUT_ROWS = (ExportTable.ATTEMPTS, ExportTable.HAND_READINGS, ExportTable.PLACES)
Cell = tuple[str, str, bool]  # kind, text, whether it is a formula


@pytest.fixture(autouse=True)
def program() -> None:
    if PROGRAM is None:
        if "CI" in os.environ:
            pytest.fail("no spreadsheet program: install libreoffice-calc-nogui")
        pytest.skip("no spreadsheet program (Debian: libreoffice-calc-nogui)")


def opened(
    paths: list[Path], folder: Path, infilter: str = ""
) -> dict[str, dict[str, list[list[Cell]]]]:
    """Return the cells as the program has them: by name of the file and the sheet."""
    profile = (folder / "profile").as_uri()
    command = [str(PROGRAM), f"-env:UserInstallation={profile}", "--headless"]
    if infilter:
        command.append(f"--infilter={infilter}")
    command += ["--convert-to", "fods", "--outdir", str(folder), *map(str, paths)]
    subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE_S)
    return {
        path.stem: {
            sheet.attrib[f"{TABLE}name"]: [
                _cells(row) for row in sheet.iter(f"{TABLE}table-row")
            ]
            for sheet in ElementTree.parse(folder / f"{path.stem}.fods").iter(
                f"{TABLE}table"
            )
        }
        for path in paths
    }


def _cells(row: ElementTree.Element) -> list[Cell]:
    found: list[Cell] = []
    for cell in row.iter(f"{TABLE}table-cell"):
        kind = cell.attrib.get(f"{OFFICE}value-type", "")
        text = "\n".join("".join(p.itertext()) for p in cell.iter(f"{TEXT}p"))
        one = (kind, text, f"{TABLE}formula" in cell.attrib)
        times = int(cell.attrib.get(f"{TABLE}number-columns-repeated", "1"))
        found += [one] * min(times, 200)
    return found


def check_cells(
    table: ExportTable, rows: list[list[Cell]], texts: frozenset[Kind]
) -> int:
    """Hold each cell against the kind of its column; return how many held something.

    Args:
        table: Table that the sheet is of.
        rows: Its rows, the head first.
        texts: Kinds that have to be text; numbers have to be numbers.
    """
    held = 0
    for row in rows[1:]:
        for (name, kind), (found, text, formula) in zip(
            COLUMNS[table].items(), row, strict=False
        ):
            where = f"{table} {name}: {text!r} is {found!r}"
            assert not formula, where
            if not found:
                continue
            held += 1
            if kind in (Kind.NUMBER, Kind.INTEGER):
                assert found == "float" or text == "inf", where
            elif kind in texts:
                assert found == "string", where
    return held


def test_a_workbook_opens_with_every_number_a_number_and_nothing_a_day_or_a_formula(
    reader: Reader, nasty: list[str], tmp_path: Path
) -> None:
    path = tmp_path / "records.xlsx"
    export_workbook(reader, path, worked_out=WORKED_OUT)

    sheets = opened([path], tmp_path)["records"]

    names = [table.value.replace("_", " ") for table in WORKBOOK_TABLES]
    assert list(sheets) == names
    texts = frozenset((Kind.TEXT, Kind.TIME, Kind.TRUTH))
    for table, name in zip(WORKBOOK_TABLES, names, strict=True):
        held = check_cells(table, sheets[name], texts)
        assert held or table in WITHOUT_ROWS
    parts = list(COLUMNS[ExportTable.PARTS]).index("part")
    assert {row[parts][1] for row in sheets["parts"][1:] if row} >= set(NASTY)


@pytest.mark.parametrize(
    ("decimal", "language"), [(DecimalMark.POINT, 1033), (DecimalMark.COMMA, 1031)]
)
def test_csv_opens_where_people_write_that_mark_with_every_number_a_number(
    reader: Reader,
    nasty: list[str],
    tmp_path: Path,
    decimal: DecimalMark,
    language: int,
) -> None:
    folder = tmp_path / "tables"
    export_all(
        reader,
        folder,
        file_format=ExportFormat.CSV,
        worked_out=WORKED_OUT,
        decimal=decimal,
    )
    infilter = CSV.format(between=ord(decimal.between_cells), language=language)
    tables = (ExportTable.PARTS, ExportTable.SWEEPS, ExportTable.BUDGETS)

    books = opened([folder / f"{table}.csv" for table in tables], tmp_path, infilter)

    for table in tables:
        (rows,) = books[table.value].values()
        # Times in ISO 8601 are taken for what they are
        assert check_cells(table, rows, frozenset((Kind.TEXT,)))
