"""The version of this software and of its analysis; both go into the records."""

from __future__ import annotations

SOFTWARE_VERSION = "0.1.0"
ANALYSIS_VERSION = "5"  # raise it whenever a figure from the same edges may change
