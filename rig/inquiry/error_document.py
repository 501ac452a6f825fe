"""An error as a JSON document, for scripts that asked for one."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorDocument:
    """Why a command ended without a result.

    Attributes:
        message: What is wrong, and where.
        hint: What would be right, or what to do; null if nothing is to be said.
        exit_status: Status that the command exits with: 2 usage or input, 3 rig or
            link, 4 records.
    """

    message: str
    hint: str | None
    exit_status: int
