"""Writes messages.py, table.h and the tables of SPEC.md from table.toml.

Run `python -m firmware_protocol.generate` after a change of the table; a test fails
while what lies on disk differs from what this writes.
"""

from __future__ import annotations

from pathlib import Path

from firmware_protocol.c_header import c_header_text
from firmware_protocol.table import load_table
from firmware_protocol.write_messages import messages_source
from firmware_protocol.write_spec import spec_text

HERE = Path(__file__).parent


def generated_files() -> dict[Path, str]:
    """Return each file that the table decides, with the text it should hold."""
    table = load_table()
    spec = HERE / "SPEC.md"
    return {
        HERE / "messages.py": messages_source(table),
        spec: spec_text(table, spec.read_text("utf-8")),
        HERE / "firmware" / "core" / "table.h": c_header_text(table),
    }


def main() -> None:
    """Write the files."""
    for path, text in generated_files().items():
        path.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
