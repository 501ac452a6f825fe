"""A plan as it is made on a screen, and the TOML text that it is kept as."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rig.catalogue.toml_output import toml_text
from rig.errors import InputError
from rig.model.part_number import part_number
from rig.model.sweep_numbers import parse_speeds, parse_sweeps

_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDraft:
    """What somebody ticked and typed. Nothing of it is checked yet.

    Attributes:
        title: Title as typed.
        sensors: Names, in the order of measuring.
        targets: Names, likewise; every sensor meets every one of them.
        parts: Parts as typed, separated by commas; each is measured with every pair.
        sweeps: Number of sweeps as typed; empty for the usual one.
        speeds: Speeds as typed, in mm/s, separated by commas; empty for the usual
            ones.
    """

    title: str = ""
    sensors: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    parts: str = ""
    sweeps: str = "10"
    speeds: str = "1, 4"


def plan_toml(draft: PlanDraft) -> str:
    """Return the text of a plan file; `parse_plan` says what may be wrong with it.

    Raises:
        InputError: Something is missing, or a number is none.
    """
    if not draft.title.strip():
        raise InputError("the plan has no title", hint="type one, such as Tuesday")
    if not draft.sensors:
        raise InputError("no sensor is ticked", hint="the space bar ticks one")
    if not draft.targets:
        raise InputError("no target is ticked", hint="the space bar ticks one")
    fresh = PlanDraft()
    lines = [
        f"title = {toml_text(draft.title.strip())}",
        f"sweeps = {parse_sweeps(draft.sweeps.strip() or fresh.sweeps)}",
        f"speeds_mm_s = {list(parse_speeds(draft.speeds.strip() or fresh.speeds))}",
        "",
        "[[run]]",
        f"sensors = {_list(draft.sensors)}",
        f"targets = {_list(draft.targets)}",
    ]
    parts = parts_of(draft)
    if parts:
        lines.append(f"parts = {_list(parts)}")
    return "\n".join([*lines, ""])


def parts_of(draft: PlanDraft) -> tuple[str, ...]:
    """Return the parts that were typed, each once."""
    typed = (part_number(part, "a part") for part in draft.parts.split(","))
    return tuple(dict.fromkeys(part for part in typed if part))


def save_plan(text: str, title: str, folder: Path) -> Path:
    """Write a plan file and return where; an earlier plan is never written over.

    Raises:
        InputError: It cannot be written there.
    """
    name = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:_LONGEST_NAME]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        number = 1
        while True:
            end = "" if number == 1 else f"-{number}"
            path = folder / f"{name or 'plan'}{end}.toml"
            if path.exists() and path.read_text("utf-8") == text:
                return path
            try:
                with path.open("x", encoding="utf-8") as file:
                    file.write(text)
            except FileExistsError:
                number += 1
                continue
            return path
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(f"the plan cannot be saved in {folder}: {reason}") from exc


def _list(texts: Sequence[str]) -> str:
    return f"[{', '.join(toml_text(text) for text in texts)}]"
