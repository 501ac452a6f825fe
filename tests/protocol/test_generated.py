"""What lies on disk is what the table says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firmware_protocol import generate, messages
from firmware_protocol.messages import HAND_REQUESTS, REQUESTS
from firmware_protocol.table import load_table
from firmware_protocol.write_messages import messages_source
from firmware_protocol.write_spec import spec_text

TABLE = load_table()
SPEC = generate.HERE / "SPEC.md"


@pytest.mark.parametrize(
    ("path", "text"), generate.generated_files().items(), ids=lambda item: None
)
def test_a_written_file_is_what_the_table_says(path: Path, text: str) -> None:
    hint = "run `python -m firmware_protocol.generate`"

    assert path.read_text("utf-8") == text, hint


def test_every_written_file_is_watched() -> None:
    names = {path.name for path in generate.generated_files()}

    assert names == {"messages.py", "SPEC.md", "table.h"}


def test_a_change_of_the_table_changes_both_files() -> None:
    row = replace(TABLE.numbers["errors"][0], name="SOMETHING_ELSE")
    errors = (row, *TABLE.numbers["errors"][1:])
    changed = replace(TABLE, numbers=TABLE.numbers | {"errors": errors})
    spec = SPEC.read_text("utf-8")

    assert messages_source(changed) != messages_source(TABLE)
    assert "SOMETHING_ELSE" in spec_text(changed, spec)


def test_an_edit_within_the_written_tables_is_undone() -> None:
    spec = SPEC.read_text("utf-8")
    edited = spec.replace("| 1 | `UNKNOWN_VERB` |", "| 1 | `WHATEVER` |")

    assert edited != spec
    assert spec_text(TABLE, edited) == spec


def test_a_missing_marker_is_named() -> None:
    spec = SPEC.read_text("utf-8").replace("<!-- table: faults -->", "")

    with pytest.raises(ValueError, match="table: faults"):
        spec_text(TABLE, spec)


def test_main_writes_all_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    good = {
        str(path.relative_to(generate.HERE)): path.read_text("utf-8")
        for path in generate.generated_files()
    }
    monkeypatch.setattr(generate, "HERE", tmp_path)
    (tmp_path / "firmware" / "core").mkdir(parents=True)
    (tmp_path / "SPEC.md").write_text(
        good["SPEC.md"].replace("no such verb", "?"), "utf-8"
    )

    generate.main()

    for name, text in good.items():
        assert (tmp_path / name).read_text("utf-8") == text


def test_the_classes_have_the_words_and_fields_of_the_table() -> None:
    for row in TABLE.requests:
        cls = REQUESTS[row.word]
        assert [rule.name for rule in cls.RULES] == [field.name for field in row.fields]
        assert (cls in HAND_REQUESTS) == row.hand
    for section, enum in (
        ("errors", messages.ErrorCode),
        ("faults", messages.Fault),
        ("traits", messages.Trait),
        ("abilities", messages.Ability),
        ("inputs", messages.Input),
    ):
        rows = {row.name: row.number for row in TABLE.numbers[section]}
        assert {member.name: member.value for member in enum} == rows
