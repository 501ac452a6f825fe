"""Reports on standard output: tables, claims and notes."""

# ruff: noqa: T201 -- tables on standard output are what this is for

from __future__ import annotations

from tests.benchmarks.registry import Cell, Report, Table


def _text(cell: Cell) -> str:
    if cell is None:
        return "-"
    if isinstance(cell, bool):
        return "yes" if cell else "NO"
    if isinstance(cell, float):
        return f"{cell:.4g}"
    return str(cell)


def _print_table(table: Table) -> None:
    cells = [table.columns, *(tuple(map(_text, row)) for row in table.rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    print(f"\n{table.title}")
    for number, row in enumerate(cells):
        print("  ".join(c.rjust(w) for c, w in zip(row, widths, strict=True)))
        if number == 0:
            print("  ".join("-" * width for width in widths))


def print_report(report: Report) -> None:
    """Print the tables, what had to be shown, and the notes."""
    for table in report.tables:
        _print_table(table)
    print()
    for claim in report.claims:
        print(f"[{'met' if claim.met else 'NOT MET'}] {claim.claim}: {claim.measured}")
    for note in report.notes:
        print(f"  {note}")
