"""Notes to runs: added, withdrawn, never altered; earlier records get the table."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import InputError, RecordsError
from rig.records import Reader, Store, Writer, open_records
from rig.records.notes import NoteBook
from rig.records.schema import SCHEMA_VERSION


@pytest.fixture
def run_id(writer: Writer, samples: ModuleType) -> str:
    header = samples.header()
    writer.begin_run(header)
    return str(header.run_id)


def test_a_note_comes_back_as_it_was_written(
    store: Store, samples: ModuleType, run_id: str
) -> None:
    book = NoteBook(store)
    book.add(run_id, " cable renewed \n", author="Ann", entered_at=samples.NOON)

    (note,) = book.notes(run_id)

    assert (note.text, note.author) == ("cable renewed", "Ann")
    assert (note.entered_at, note.withdrawn_at) == (samples.NOON, None)
    assert book.counts() == {run_id: 1}


def test_a_note_that_is_taken_back_stays_on_record(
    store: Store, samples: ModuleType, run_id: str
) -> None:
    book, later = NoteBook(store), samples.NOON + timedelta(minutes=1)
    book.add(run_id, "first", author="", entered_at=samples.NOON)
    book.add(run_id, "second", author="", entered_at=samples.NOON)
    book.withdraw(run_id, 0, author="Ann", reason="wrong run", entered_at=later)
    book.add(run_id, "third", author="", entered_at=later)

    notes = book.notes(run_id)

    assert [note.text for note in notes] == ["first", "second", "third"]
    assert [note.withdrawn_at for note in notes] == [later, None, None]
    assert (notes[0].withdrawn_by, notes[0].why_withdrawn) == ("Ann", "wrong run")
    assert book.counts() == {run_id: 2}
    with pytest.raises(InputError, match="has no note 1 that stands"):
        book.withdraw(run_id, 0, author="", reason="again", entered_at=later)
    with pytest.raises(InputError, match="the reason is empty"):
        book.withdraw(run_id, 1, author="", reason=" ", entered_at=later)


def test_an_empty_note_and_a_note_to_no_run_are_refused(
    store: Store, samples: ModuleType, run_id: str
) -> None:
    book = NoteBook(store)

    with pytest.raises(InputError, match="the note is empty"):
        book.add(run_id, "  \n", author="", entered_at=samples.NOON)
    with pytest.raises(RecordsError, match="no run"):
        book.add("none", "text", author="", entered_at=samples.NOON)


@pytest.mark.parametrize(
    ("act", "words"),
    [
        ("DELETE FROM run_notes", "kept for ever"),
        ("UPDATE run_notes SET text = 'other'", "never altered"),
        ("INSERT OR REPLACE INTO run_notes SELECT * FROM run_notes", "already"),
    ],
)
def test_no_tool_alters_a_note(
    store: Store, path: Path, samples: ModuleType, run_id: str, act: str, words: str
) -> None:
    NoteBook(store).add(run_id, "text", author="", entered_at=samples.NOON)

    with (
        closing(sqlite3.connect(path, isolation_level=None)) as other_tool,
        pytest.raises(sqlite3.IntegrityError, match=words),
    ):
        other_tool.execute(act)


@pytest.fixture
def without_notes(path: Path) -> Path:
    """Return records from before there were notes."""
    shutil.copy(Path(__file__).parent / "kept" / "schema_1.sqlite", path)
    return path


def test_earlier_records_get_the_table_when_they_are_next_written(
    without_notes: Path, samples: ModuleType
) -> None:
    with open_records(without_notes) as store:
        run_id = Reader(store).runs()[0].run_id
        book = NoteBook(store)
        book.add(run_id, "late", author="", entered_at=samples.NOON)
        assert [note.text for note in book.notes(run_id)] == ["late"]

    with closing(sqlite3.connect(without_notes, isolation_level=None)) as tool:
        found = tool.execute("SELECT max(version) FROM records_schema").fetchone()
        assert found == (SCHEMA_VERSION,)
        with pytest.raises(sqlite3.IntegrityError, match="kept for ever"):
            tool.execute("DELETE FROM run_notes")


def test_earlier_records_that_are_only_read_have_no_notes(without_notes: Path) -> None:
    with open_records(without_notes, read_only=True) as store:
        run_id = Reader(store).runs()[0].run_id
        assert NoteBook(store).notes(run_id) == []
