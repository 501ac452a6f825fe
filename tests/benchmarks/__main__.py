"""`python -m tests.benchmarks`: run benchmarks, print tables, write JSON."""

# ruff: noqa: T201 -- tables on standard output are what this command is for

from __future__ import annotations

import argparse
import json
import platform
import sys
import time
from dataclasses import asdict
from pathlib import Path
from typing import Any

from tests.benchmarks.registry import Cell, Report, Table, every_benchmark


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


def _print_report(report: Report) -> None:
    for table in report.tables:
        _print_table(table)
    print()
    for claim in report.claims:
        print(f"[{'met' if claim.met else 'NOT MET'}] {claim.claim}: {claim.measured}")
    for note in report.notes:
        print(f"  {note}")


def main(arguments: list[str] | None = None) -> int:
    """Run the benchmarks asked for; 1 if something that had to be shown was not."""
    found = every_benchmark()
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks",
        description="Runs the benchmarks and prints what they found.",
    )
    parser.add_argument(
        "--only", action="append", choices=list(found), help="this one (repeatable)"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write it all there")
    parser.add_argument("--list", action="store_true", help="name them and stop")
    chosen = parser.parse_args(arguments)
    if chosen.list:
        for entry in found.values():
            print(f"{entry.name:16} {entry.title}")
        return 0
    documents: list[dict[str, Any]] = []
    met = True
    for name in chosen.only or found:
        print(f"\n== {name}: {found[name].title}", flush=True)
        began = time.perf_counter()
        report = found[name].run()
        seconds = time.perf_counter() - began
        _print_report(report)
        print(f"  ({seconds:.0f} s)", flush=True)
        met = met and all(claim.met for claim in report.claims)
        documents.append({"name": name, "seconds": seconds, **asdict(report)})
    if chosen.json:
        document = {"python": platform.python_version(), "benchmarks": documents}
        chosen.json.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
