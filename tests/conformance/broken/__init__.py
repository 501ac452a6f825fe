"""Controllers that are wrong in one way each, and the clauses that each breaks."""

from __future__ import annotations

from . import lines, motion, notices, quantities, requests, safety, scale
from .base import Wrong

CAUGHT: dict[type[Wrong], str] = {
    **lines.CAUGHT,
    **requests.CAUGHT,
    **motion.CAUGHT,
    **notices.CAUGHT,
    **safety.CAUGHT,
    **quantities.CAUGHT,
    **scale.CAUGHT,
}
