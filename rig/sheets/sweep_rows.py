"""The sweeps of a run as rows of text: points with and without the delay in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.sweep_readings import SweepReading
from rig.model.rounding import format_decimals

DASH = "–"
_GAP_DECIMALS = 4  # 0.1 µm, which is below a step


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepRow:
    """One line of the table of sweeps; gaps in mm, a dash where there is none.

    Attributes:
        number: Number of the sweep in its run, from 1.
        speed: Speed in mm/s.
        operate_delayed: Gap at the operate edge, delay still in it.
        operate_corrected: Gap at the operate edge, delay removed.
        release_delayed: Gap at the release edge, delay still in it.
        release_corrected: Gap at the release edge, delay removed.
        edges: Number of edges.
        state: "used", or why it is void.
        used: Whether figures rest on it.
    """

    number: str
    speed: str
    operate_delayed: str
    operate_corrected: str
    release_delayed: str
    release_corrected: str
    edges: str
    state: str
    used: bool


def sweep_rows(readings: Sequence[SweepReading]) -> tuple[SweepRow, ...]:
    """Lay out the sweeps of a run, void ones too."""
    return tuple(
        SweepRow(
            number=str(one.number),
            speed=speed_words(one.speed_mm_s),
            operate_delayed=gap_words(one.operate_delayed_mm),
            operate_corrected=gap_words(one.operate_corrected_mm),
            release_delayed=gap_words(one.release_delayed_mm),
            release_corrected=gap_words(one.release_corrected_mm),
            edges=str(one.edges),
            state=f"void: {one.void}" if one.void else "used",
            used=not one.void,
        )
        for one in readings
    )


def gap_words(gap_mm: float | None) -> str:
    """Write the gap of a single reading, without its unit."""
    return DASH if gap_mm is None else format_decimals(gap_mm, _GAP_DECIMALS)


def speed_words(speed_mm_s: float) -> str:
    """Write a speed, without its unit."""
    return f"{speed_mm_s:.4g}"
