"""Keeps the caller's terminal settings out of the tests."""

from __future__ import annotations

import os

# Textual reads these when it is imported, so they go before anything imports it
for name in list(os.environ):
    if name.startswith("TEXTUAL_") or name in ("NO_COLOR", "GAPSWEEP_RECORDS"):
        del os.environ[name]
