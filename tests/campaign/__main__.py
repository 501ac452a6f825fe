"""`python -m tests.campaign`: faults, lies, kills and damage; 1 if a claim is not met.

At full size: 20,000 sweeps under mixed faults, 1,000,000 damaged lines, 1,000 kills and
5,000 damaged files.
"""

# ruff: noqa: T201 -- tables on standard output are what this command is for

from __future__ import annotations

import argparse
import sys
import time

from tests.benchmarks.printed import print_report
from tests.campaign.parts import every_part


def main(arguments: list[str] | None = None) -> int:
    """Run the parts asked for, print their tables, and return the exit status."""
    names = [name for name, _ in every_part(share=0.0, seed=0, processes=1)]
    parser = argparse.ArgumentParser(
        prog="python -m tests.campaign",
        description="Runs faults against simulated rigs and prints what came of them.",
    )
    parser.add_argument(
        "--only", action="append", choices=names, help="this part (repeatable)"
    )
    parser.add_argument(
        "--share", type=float, default=1.0, help="share of the full size"
    )
    parser.add_argument("--seed", type=int, default=1, help="seed of all that is drawn")
    parser.add_argument(
        "--processes", type=int, default=1, help="sessions carried out at a time"
    )
    given = parser.parse_args(arguments)
    parts = every_part(share=given.share, seed=given.seed, processes=given.processes)
    met = True
    for name, run in parts:
        if given.only and name not in given.only:
            continue
        print(f"\n== {name}, seed {given.seed}, share {given.share:g}", flush=True)
        began_s = time.perf_counter()
        report = run()
        print_report(report)
        print(f"  ({time.perf_counter() - began_s:.0f} s)", flush=True)
        met = met and all(claim.met for claim in report.claims)
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
