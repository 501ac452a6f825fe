"""`python -m firmware_protocol.conformance.by_hand PORT ORDER ...`: orders by hand.

Greets, gives the orders one after another and falls silent, so that a motion ends by
itself after SILENCE_LIMIT. Prints every line that comes.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from firmware_protocol.conformance.clause import Broken
from firmware_protocol.conformance.consent import agreed
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.port import PortError, PortSubject
from firmware_protocol.messages import Trait

CAUTIONS = """\
The axis may move for the silence limit after each order.
  - Keep hands and everything loose away from the axis while it has power.
  - Have the means at hand that takes the power from the motor.
"""
_LISTEN_S = 0.5


def main(arguments: Sequence[str] | None = None) -> int:
    """Give orders; return the exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m firmware_protocol.conformance.by_hand",
        description="Greets, gives orders as SPEC.md writes them, and falls silent.",
        epilog='Example: ... by_hand PORT rearm "home 800 400". Exit status: 0 all '
        "were answered, 1 one was not, 2 wrong usage, 3 the port.",
    )
    parser.add_argument("port", help="serial port or pyserial URL")
    parser.add_argument("order", nargs="+", help="verb and arguments, no session")
    given = parser.parse_args(arguments)
    print(CAUTIONS, file=sys.stderr)  # noqa: T201
    if not agreed():
        print("Nothing was done.", file=sys.stderr)  # noqa: T201
        return 2
    try:
        with PortSubject(given.port) as subject:
            return _give(Host(subject, moves=True), given.order)
    except PortError as exc:
        print(exc, file=sys.stderr)  # noqa: T201
        return 3


def _give(host: Host, orders: Sequence[str]) -> int:
    if not host.greet():
        print("nothing answers the greeting", file=sys.stderr)  # noqa: T201
        return 1
    limit_s = host.trait(Trait.SILENCE_LIMIT) * 1e-3
    first = len(host.heard)
    try:
        for words in orders:
            host.ask(words)
    except Broken as exc:
        print(exc, file=sys.stderr)  # noqa: T201
        return 1
    finally:
        host.wait(limit_s + _LISTEN_S)
        for heard in host.heard[first:]:
            print(heard.text)  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
