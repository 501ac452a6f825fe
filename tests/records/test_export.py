from __future__ import annotations

import csv
import dataclasses
import gc
import json
import math
import subprocess
import sys
import tracemalloc
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pandas as pd
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import RecordsError
from rig.inquiry.judged_rows import WORKED_OUT
from rig.model.spreadsheet import guarded, unguarded
from rig.model.sweeps import RunHeader
from rig.records import Reader, RunFilter, Store, Writer
from rig.records.attempt_book import AttemptBook
from rig.records.export import (
    ExportFormat,
    ExportTable,
    export_all,
    export_table,
)
from rig.records.export_choice import choose
from rig.records.export_columns import COLUMNS, Kind
from rig.records.hand_readings import HandBook, HandReading
from rig.records.place_checks import PlaceCheckBook
from tests.records.full_records import enter_what_people_enter

OF_TABLES = tuple(one for one in ExportFormat if not one.is_workbook)
OF_RUNS = tuple(
    table
    for table, columns in COLUMNS.items()
    if list(columns)[:2] == ["run_id", "simulated"]
)
FORMULA = '=HYPERLINK("http://example.org","a")'


@pytest.fixture
def two_runs(writer: Writer, store: Store, samples: ModuleType) -> list[str]:
    simulated = samples.header(0)
    sensor = dataclasses.replace(samples.LEVEL_SENSOR, name=FORMULA)
    real = samples.header(
        1,
        sensor=sensor,
        target=samples.WHEAT,
        conditions=samples.conditions(simulated=False, note='-5 °C, "wet"\nsecond'),
    )
    for header in (simulated, real):
        writer.begin_run(header)
        for index in range(3):
            writer.add_sweep(header.run_id, samples.sweep(index))
        void = "the sensor never switched"
        writer.add_sweep(header.run_id, samples.sweep(3, edges=0, void=void))
    writer.add_figures(real.run_id, samples.figures(1.0), computed_at=samples.NOON)
    latest = dataclasses.replace(samples.figures(), release=samples.figure(math.nan))
    writer.add_figures(real.run_id, latest, computed_at=samples.NOON)
    writer.end_run(simulated.run_id, ended_at=samples.NOON, home_shift_steps=-32)
    book = AttemptBook(store)
    tried = samples.attempt(0, run_id=simulated.run_id)
    book.begin(tried)
    book.end(tried, samples.ATTEMPT_END)
    book.begin(samples.attempt(7, part="S-2", simulated=False, note="=1+1"))
    both = [simulated.run_id, real.run_id]
    PlaceCheckBook(store).add(samples.place_check(both))
    HandBook(store).add(
        [
            reading(simulated, "Ann", 8.05, 0.05, samples),
            reading(real, "=Ben", 7.5, None, samples),
        ]
    )
    return [simulated.run_id, real.run_id]


def reading(
    header: RunHeader,
    person: str,
    value_mm: float,
    step_mm: float | None,
    samples: ModuleType,
) -> HandReading:
    """Return a reading by hand of what a run measures."""
    return HandReading(
        person=person,
        sensor=header.sensor.name,
        part=header.part,
        target=header.target.name,
        figure="operate",
        value_mm=value_mm,
        source="class.csv, line 2",
        entered_at=samples.NOON,
        step_mm=step_mm,
    )


def read_csv(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "exported" / "here"


def test_every_table_says_whether_it_is_simulated(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    paths = export_all(
        reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV
    )

    assert {path.name for path in folder.iterdir()} == {
        f"{table}.csv" for table in ExportTable
    }
    said = {two_runs[0]: "SIMULATED", two_runs[1]: "no"}
    for table in OF_RUNS:
        path = paths[table]
        rows = read_csv(path)
        assert rows
        assert all(row["simulated"] == said.get(row["run_id"], "no") for row in rows)


def test_numbers_and_times_in_csv_are_exact(
    reader: Reader, two_runs: list[str], folder: Path, samples: ModuleType
) -> None:
    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    (run, _) = read_csv(folder / "runs.csv")
    assert float(run["axis_standard_uncertainty_mm"]) == 0.1 + 0.2
    assert run["backlash_degrees_of_freedom"] == "inf"
    assert run["started_at"] == "2026-11-25T12:00:00.123456Z"
    assert run["home_shift_steps"] == "-32"
    assert run["sensor_switching_frequency_hz"] == ""
    assert run["target_earthed"] == "true"
    edges = read_csv(folder / "edges.csv")
    assert edges[0]["position_steps"] == "-2147483648"
    assert edges[0]["time_us"] == "4294967290"
    sweeps = read_csv(folder / "sweeps.csv")
    assert [row["edges"] for row in sweeps[:4]] == ["2", "2", "2", "0"]
    assert sweeps[3]["operate_position_steps"] == ""
    assert sweeps[3]["void"] == "the sensor never switched"


def test_figures_are_the_latest_with_their_uncertainty_or_why_none(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    figures = {row["figure"]: row for row in read_csv(folder / "figures.csv")}

    assert {row["run_id"] for row in figures.values()} == {two_runs[1]}
    assert figures["operate"]["value"] == "7.9"
    assert figures["operate"]["unit"] == "mm"
    assert figures["operate"]["expanded_uncertainty"] == "0.0123"
    assert figures["operate"]["effective_degrees_of_freedom"] == "inf"
    assert figures["release"]["value"] == ""
    assert "response_time_release" not in figures
    repeat = figures["repeat_accuracy_short_term"]
    assert repeat["expanded_uncertainty"] == ""
    assert repeat["why_none"].startswith("a range of ten readings")
    assert repeat["n"] == "10"
    budget = [
        row
        for row in read_csv(folder / "budgets.csv")
        if (row["run_id"], row["figure"]) == (two_runs[1], "operate")
    ]
    assert [row["contribution"] for row in budget] == ["datum", "axis"]
    assert [row["standard_uncertainty"] for row in budget] == ["0.0011", "1e-17"]
    assert [row["sensitivity"] for row in budget] == ["-1.0", "1.0"]


def test_readings_by_hand_have_their_step_and_those_of_a_run_can_be_chosen(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    path = folder.with_name("hand.csv")
    path.parent.mkdir(parents=True, exist_ok=True)
    found = []
    for wanted in (RunFilter(), RunFilter(run_ids=(two_runs[0],))):
        export_table(
            reader,
            ExportTable.HAND_READINGS,
            path,
            worked_out=WORKED_OUT,
            file_format=ExportFormat.CSV,
            chosen=choose(reader, wanted),
        )
        found.append(read_csv(path))

    every, of_run = found
    said = [(row["person"], row["value_mm"], row["step_mm"]) for row in every]
    assert said == [("Ann", "8.05", "0.05"), ("'=Ben", "7.5", "")]
    assert [row["person"] for row in of_run] == ["Ann"]


@pytest.mark.long
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_a_text_that_a_spreadsheet_takes_for_a_formula_is_made_text_in_csv_only(
    writer: Writer, reader: Reader, folder: Path, samples: ModuleType, start: str
) -> None:
    note = f"{start}1+2"
    writer.begin_run(samples.header(conditions=samples.conditions(note=note)))

    for file_format in OF_TABLES:
        export_all(reader, folder, worked_out=WORKED_OUT, file_format=file_format)

    assert read_csv(folder / "runs.csv")[0]["note"] == f"'{note}".replace(
        "\r", "\ufffd"
    )
    assert json.loads((folder / "runs.json").read_text())[0]["note"] == note
    assert pd.read_parquet(folder / "runs.parquet")["note"][0] == note


def test_what_no_terminal_may_obey_in_earlier_records_is_replaced_in_csv(
    reader: Reader, writer: Writer, folder: Path, samples: ModuleType
) -> None:
    # Such names were taken without a look by earlier versions
    paint, turned = "A3\x1b[1A\x1b[2KA2 conforms", "\u202esmrofnoc"
    header = samples.header(part=paint)
    known = replace(header.conditions, operator=turned, note="two\nlines\x9b1A")
    writer.begin_run(replace(header, conditions=known))

    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    text = (folder / "runs.csv").read_text("utf-8-sig")
    assert not {"\x1b", "\x9b", "\u202e"} & set(text)
    (row,) = read_csv(folder / "runs.csv")
    assert row["operator"] == "\ufffdsmrofnoc"
    assert row["note"] == "two\nlines\ufffd1A"
    assert "A3\ufffd[1A\ufffd[2KA2 conforms".casefold() in row["part"].casefold()


@pytest.mark.parametrize(
    ("part", "altered"),
    [
        ("0012", True),
        ("1E5", True),
        ("3-4", True),
        ("12/05", True),
        ("1234567890123456", True),
        ("17", False),
        ("P-17", False),
        ("1.0", False),
        ("2026-11-25", False),
        ("", False),
    ],
)
def test_a_part_number_that_a_spreadsheet_alters_is_made_text(
    writer: Writer,
    reader: Reader,
    folder: Path,
    samples: ModuleType,
    part: str,
    altered: bool,
) -> None:
    writer.begin_run(dataclasses.replace(samples.header(), part=part))

    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    (cell,) = [row["part"] for row in read_csv(folder / "runs.csv")]
    assert cell == (f"'{part}" if altered else part)
    assert unguarded(cell) == part


def test_csv_begins_with_the_mark_by_which_spreadsheets_know_utf_8(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    for path in folder.glob("*.csv"):
        data = path.read_bytes()
        first = next(iter(COLUMNS[ExportTable(path.stem)]))
        assert data.startswith(b"\xef\xbb\xbf" + f"{first},".encode())
        assert data.count(b"\xef\xbb\xbf") == 1


@pytest.mark.long
@given(text=st.text(max_size=20) | st.text("'=0012-E/5", max_size=6))
def test_a_guarded_text_comes_back_as_it_was(text: str) -> None:
    assert unguarded(guarded(text)) == text


def test_a_minus_before_a_number_is_no_formula(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    assert read_csv(folder / "runs.csv")[0]["plan_item"] == "-1"
    assert read_csv(folder / "runs.csv")[1]["sensor"] == f"'{FORMULA}"


def test_every_attempt_is_exported_with_its_outcome_whether_it_came_to_a_run_or_not(
    reader: Reader, two_runs: list[str], folder: Path
) -> None:
    export_all(reader, folder, worked_out=WORKED_OUT, file_format=ExportFormat.CSV)

    with_run, alone = read_csv(folder / "attempts.csv")
    assert (with_run["run_id"], with_run["part"]) == (two_runs[0], "S-1")
    assert (with_run["outcome"], with_run["simulated"]) == ("chatter", "SIMULATED")
    assert with_run["sentence"] == "3 sweeps in a row are void: über den Rand"
    assert with_run["causes"] == "check target, sensor and cable"
    assert (alone["part"], alone["outcome"], alone["ended_at"]) == (
        *("S-2", "interrupted", ""),
    )
    assert alone["note"] == "'=1+1"


@pytest.fixture
def a_lot(store: Store, two_runs: list[str], samples: ModuleType) -> str:
    return enter_what_people_enter(store, two_runs[1], samples)


@pytest.mark.parametrize("table", ExportTable)
def test_json_and_parquet_and_frames_hold_the_same(
    reader: Reader, two_runs: list[str], a_lot: str, tmp_path: Path, table: ExportTable
) -> None:
    as_json, as_parquet = tmp_path / "t.json", tmp_path / "t.parquet"

    count = export_table(
        reader, table, as_json, worked_out=WORKED_OUT, file_format=ExportFormat.JSON
    )
    assert count == export_table(
        reader,
        table,
        as_parquet,
        worked_out=WORKED_OUT,
        file_format=ExportFormat.PARQUET,
    )

    columns = COLUMNS[table]
    records = json.loads(as_json.read_text(encoding="utf-8"))
    rows = pq.read_table(as_parquet).to_pylist()
    assert count == len(records) == len(rows) > 0
    assert list(records[0]) == list(rows[0]) == list(columns)
    for record, row in zip(records, rows, strict=True):
        for name, kind in columns.items():
            value = row[name]
            if kind is Kind.TIME and value is not None:
                value = value.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
            if isinstance(value, float) and not math.isfinite(value):
                value = None if math.isnan(value) else "inf"
            assert record[name] == value


def test_what_is_in_the_files_can_be_chosen(
    reader: Reader, two_runs: list[str], tmp_path: Path
) -> None:
    path = tmp_path / "edges.csv"

    export_table(
        reader,
        ExportTable.EDGES,
        path,
        worked_out=WORKED_OUT,
        file_format=ExportFormat.CSV,
        chosen=choose(reader, RunFilter(simulated=False)),
    )

    assert {row["run_id"] for row in read_csv(path)} == {two_runs[1]}


@pytest.mark.parametrize("file_format", OF_TABLES)
@pytest.mark.parametrize("table", ExportTable)
def test_empty_records_give_empty_tables_with_their_columns(
    reader: Reader, tmp_path: Path, table: ExportTable, file_format: ExportFormat
) -> None:
    path = tmp_path / "empty"

    assert (
        export_table(
            reader, table, path, worked_out=WORKED_OUT, file_format=file_format
        )
        == 0
    )

    match file_format:
        case ExportFormat.CSV:
            names = path.read_text("utf-8-sig").strip().split(",")
        case ExportFormat.PARQUET:
            names = pq.read_schema(path).names
        case ExportFormat.JSON:
            assert json.loads(path.read_text()) == []
            return
    assert names == list(COLUMNS[table])


def test_every_number_with_a_unit_has_it_in_its_name_or_beside_it() -> None:
    units = (
        "_mm",
        "_mm2",
        "_mm_s",
        "_us",
        "_hz",
        "_c",
        "_steps",
        "_per_mm",
        "_h",
        "_ms",
        "_v",
        "_ma",
        "_percent",
        "time_s",
    )
    without = (
        # Ratios
        "sensitivity",
        "conformance_probability",
        "degrees_of_freedom",
        "coverage_factor",
        # Their unit is in the column "unit"
        "value",
        "expanded_uncertainty",
        "standard_deviation",
        "standard_uncertainty",
        "lower_limit",
        "upper_limit",
        "tolerance",
    )
    for columns in COLUMNS.values():
        for name, kind in columns.items():
            if kind is Kind.NUMBER:
                assert name.endswith((*units, *without)), name


def test_parquet_is_written_in_groups_of_bounded_length(
    reader: Reader, two_runs: list[str], tmp_path: Path
) -> None:
    path = tmp_path / "edges.parquet"

    export_table(
        reader,
        ExportTable.EDGES,
        path,
        worked_out=WORKED_OUT,
        file_format=ExportFormat.PARQUET,
        rows_at_once=5,
    )

    groups = pq.ParquetFile(path).metadata
    assert [groups.row_group(i).num_rows for i in range(groups.num_row_groups)] == [
        5,
        5,
        2,
    ]


@pytest.mark.long
def test_memory_does_not_grow_with_the_records(
    writer: Writer, reader: Reader, tmp_path: Path, samples: ModuleType
) -> None:
    def peak_bytes() -> int:
        # Whether a collection falls into it is chance: the least of three counts
        return min(one_peak_bytes() for _ in range(3))

    def one_peak_bytes() -> int:
        gc.collect()
        tracemalloc.start()
        try:
            export_table(
                reader,
                ExportTable.EDGES,
                tmp_path / "edges.csv",
                worked_out=WORKED_OUT,
                file_format=ExportFormat.CSV,
                rows_at_once=500,
            )
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    def add_runs(numbers: range) -> None:
        for number in numbers:
            header = samples.header(number)
            writer.begin_run(header)
            writer.add_sweep(header.run_id, samples.sweep(0, edges=30))

    add_runs(range(20))
    peak_bytes()  # what the first export leaves in caches is no growth
    small = peak_bytes()
    add_runs(range(20, 80))

    assert peak_bytes() < 1.3 * small


def test_a_folder_that_is_not_there_is_told_and_nothing_is_left(
    reader: Reader, two_runs: list[str], tmp_path: Path
) -> None:
    with pytest.raises(RecordsError, match="cannot export to") as caught:
        export_table(
            reader,
            ExportTable.RUNS,
            tmp_path / "no such folder" / "runs.csv",
            worked_out=WORKED_OUT,
            file_format=ExportFormat.CSV,
        )

    assert caught.value.exit_status == 4


@pytest.mark.long
def test_a_full_disk_leaves_the_earlier_export_as_it_was(
    writer: Writer, reader: Reader, small_disk: Path, samples: ModuleType
) -> None:
    path = small_disk / "edges.csv"
    path.write_text("earlier")
    (small_disk / "ballast").write_bytes(bytes(1024 * 1024 - 12_288))
    header = samples.header()
    writer.begin_run(header)
    writer.add_sweep(header.run_id, samples.sweep(0, edges=12_000))

    for file_format in OF_TABLES:
        with pytest.raises(RecordsError, match="no space left"):
            export_table(
                reader,
                ExportTable.EDGES,
                path,
                worked_out=WORKED_OUT,
                file_format=file_format,
            )

        assert path.read_text() == "earlier"
        names = {file.name for file in small_disk.iterdir()}
        assert names == {"ballast", "edges.csv"}


def test_the_records_open_without_the_heavy_libraries() -> None:
    program = (
        "import sys, rig.records, rig.records.export;"
        "print([m for m in ('numpy', 'pandas', 'pyarrow') if m in sys.modules])"
    )

    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )

    assert done.stdout.strip() == "[]"
