"""`python -m firmware_protocol.conformance PORT`: try the clauses on a port."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from firmware_protocol.conformance.clause import Result
from firmware_protocol.conformance.consent import agreed
from firmware_protocol.conformance.port import PortError, PortSubject
from firmware_protocol.conformance.report import (
    document_of,
    failures_of,
    line_of,
    status_of,
    summary_of,
)
from firmware_protocol.conformance.run import run

CAUTIONS = """\
The axis will move: it looks for the home switch, and goes to and fro in the first
seventh of the travel next to it, some of the time at SPEED_LIMIT.
  - Keep hands and everything loose away from the axis while it has power.
  - Have the means at hand that takes the power from the motor.
  - Take the target off, or make sure that nothing stands in the way.
  - A controller that does not conform may move where it is not asked to.
"""
QUIET = """\
Nothing is asked to move. A controller that does not conform may move all the same:
take the power from the motor.
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Try the clauses on a port; return the exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m firmware_protocol.conformance",
        description="Tries a controller against SPEC.md, clause by clause.",
        epilog="Exit status: 0 all conform, 1 some do not, 2 wrong usage, 3 the port.",
    )
    parser.add_argument("port", help="serial port or pyserial URL")
    parser.add_argument("--moves", action="store_true", help="let the axis move")
    parser.add_argument("--json", action="store_true", help="one JSON document")
    given = parser.parse_args(arguments)
    print(CAUTIONS if given.moves else QUIET, file=sys.stderr)  # noqa: T201
    if given.moves and not agreed():
        print("Nothing was done.", file=sys.stderr)  # noqa: T201
        return 2
    try:
        with PortSubject(given.port) as subject:
            results = _tried(subject, moves=given.moves, told=not given.json)
    except PortError as exc:
        print(exc, file=sys.stderr)  # noqa: T201
        return 3
    if not given.json:
        print(failures_of(results), end="")  # noqa: T201
    report = document_of(given.port, results) if given.json else summary_of(results)
    print(report)  # noqa: T201
    return status_of(results)


def _tried(subject: PortSubject, *, moves: bool, told: bool) -> list[Result]:
    results = []
    for result in run(subject, moves=moves):
        results.append(result)
        if told:
            print(line_of(result), flush=True)  # noqa: T201
    return results


if __name__ == "__main__":
    sys.exit(main())
