"""Names what will move before it does: in a command's help, and before it begins."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from rig.procedures.motions_ahead import MotionsAhead, in_brief, numbered

Command = TypeVar("Command", bound=Callable[..., Any])


def moves(motions: MotionsAhead, when: str = "") -> Callable[[Command], Command]:
    r"""Add the motions of a command to the end of its help.

    Args:
        motions: The motions in their order.
        when: When or how often that is; empty for once.
    """

    def add(command: Command) -> Command:
        head = f"The axis moves{when and f' {when}'}; keep hands clear. In order, it"
        lines = "\n".join(f"      {line}" for line in numbered(motions))
        command.__doc__ = f"{command.__doc__}\n\n    \b\n    {head}\n{lines}\n    "
        return command

    return add


def moves_next(motions: MotionsAhead) -> str:
    """Return the warning that stands where somebody has just mounted something."""
    return f"Keep hands clear: next the axis {in_brief(motions)}."
