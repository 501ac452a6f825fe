"""`python -m tests.benchmarks`: run benchmarks, print tables, write JSON or a page."""

# ruff: noqa: T201 -- tables on standard output are what this command is for

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import asdict
from pathlib import Path

from tests.benchmarks.page import Ran, page, surroundings
from tests.benchmarks.printed import print_report
from tests.benchmarks.registry import Benchmark, every_benchmark


def _run(entry: Benchmark, times: int) -> Ran:
    began_s = time.perf_counter()
    reports = []
    for _ in range(times):
        print(f"\n== {entry.name}: {entry.title}", flush=True)
        one_began_s = time.perf_counter()
        reports.append(entry.run())
        print_report(reports[-1])
        print(f"  ({time.perf_counter() - one_began_s:.0f} s)", flush=True)
    return Ran(
        name=entry.name,
        title=entry.title,
        reports=tuple(reports),
        seconds=time.perf_counter() - began_s,
    )


def _write(
    json_file: Path | None,
    page_file: Path | None,
    ran: list[Ran],
    known: dict[str, str],
) -> None:
    if json_file:
        documents = [
            {"name": one.name, "seconds": one.seconds, "times": len(one.reports)}
            | asdict(report)
            for one in ran
            for report in one.reports
        ]
        document = {"surroundings": known, "benchmarks": documents}
        json_file.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
    if page_file:
        page_file.write_text(page(ran, known), encoding="utf-8")


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
    parser.add_argument("--page", type=Path, metavar="FILE", help="write it as a page")
    parser.add_argument(
        "--times", type=int, default=1, metavar="N", help="run each so often"
    )
    parser.add_argument("--list", action="store_true", help="name them and stop")
    chosen = parser.parse_args(arguments)
    if chosen.list:
        for entry in found.values():
            print(f"{entry.name:16} {entry.title}")
        return 0
    times = max(1, chosen.times)
    known = surroundings(times)
    ran: list[Ran] = []
    for name in chosen.only or found:
        ran.append(_run(found[name], times))
        # After each, so that what was found is kept if a later one fails
        _write(chosen.json, chosen.page, ran, known)
    met = all(c.met for one in ran for report in one.reports for c in report.claims)
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
