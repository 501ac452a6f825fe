"""Verdicts as a sign and a word, told apart without colour."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from rig.analysis.limits.verdict import Decision

VERDICT_SIGNS: Final[Mapping[str, str]] = {
    Decision.CONFORMS: "✓",
    Decision.DOES_NOT_CONFORM: "✗",
    Decision.UNDECIDED: "?",
    Decision.NOT_TESTED: "–",
}
