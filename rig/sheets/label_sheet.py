"""Labels of parts in words: what a person reads beside the code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.part_history import PartEventKind, PartHistory


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheet:
    """One label; all text.

    Attributes:
        part: Serial or sample number, which the code carries.
        what: Sensor and target of the newest run; empty for a part never tried.
        measured: Day of that run; empty likewise.
        simulated: Whether a simulated rig made that run.
    """

    part: str
    what: str
    measured: str
    simulated: bool


def label_sheets(found: Sequence[PartHistory]) -> tuple[LabelSheet, ...]:
    """Lay out a label for each part.

    No verdict stands on a label: it would outlive the next measurement.
    """
    return tuple(map(_label, found))


def _label(found: PartHistory) -> LabelSheet:
    runs = [one for one in found.events if one.kind is PartEventKind.RUN]
    last = runs[-1] if runs else None
    return LabelSheet(
        part=found.part,
        what="" if last is None else last.what,
        measured="" if last is None else f"{last.at:%Y-%m-%d}",
        simulated=last is not None and last.simulated,
    )
