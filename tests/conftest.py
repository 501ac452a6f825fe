"""Keeps the caller's terminal settings out of the tests; options of the test run."""

from __future__ import annotations

import os

import pytest

# Textual reads these when it is imported, so they go before anything imports it
for name in list(os.environ):
    if name.startswith("TEXTUAL_") or name in ("NO_COLOR", "GAPSWEEP_RECORDS"):
        del os.environ[name]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-looks",
        action="store_true",
        help="write how every scene of the terminal UI looks to tests/tui/looks/",
    )
