"""A person's word before something moves."""

from __future__ import annotations

import sys


def agreed() -> bool:
    """Ask on standard error, and return whether the line that comes says yes."""
    print("Type yes to go on: ", end="", file=sys.stderr, flush=True)  # noqa: T201
    answer = sys.stdin.readline()
    if not sys.stdin.isatty():
        print(file=sys.stderr)  # noqa: T201 - nobody's return key ended the line
    return answer.strip() == "yes"
