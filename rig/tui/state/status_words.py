"""States as a glyph and a word, so that no state is told by colour alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from firmware_protocol.messages import State
from rig.model.mounted import OutputKind
from rig.procedures.bench_finding import Fitness
from rig.tui.state.situation import LinkState

if TYPE_CHECKING:
    from rig.model.calibration import AxisCalibration
    from rig.model.mounted import Sensor
    from rig.tui.rig.rig_events import Reading


@dataclass(frozen=True, slots=True)
class Sign:
    """A state for the eye: glyph, word, and the style that may go with them."""

    glyph: str
    word: str
    style: str

    def __str__(self) -> str:
        return f"{self.glyph} {self.word}"


GOOD: Final = "$text-success"
CARE: Final = "$text-warning"
BAD: Final = "$text-error"
PLAIN: Final = "$foreground"
VERDICT_STYLES: Final = {"✓": GOOD, "✗": BAD, "?": CARE}
"""Style of a verdict by its sign; of others none."""

LINK: Final = {
    LinkState.NONE: Sign("○", "none", PLAIN),
    LinkState.OPENING: Sign("◌", "opening", CARE),
    LinkState.LIVE: Sign("●", "live", GOOD),
    LinkState.LOST: Sign("✗", "lost", BAD),
}
AXIS: Final = {
    State.RAW: Sign("◌", "not homed", PLAIN),
    State.SEEKING: Sign("▶", "seeking", CARE),
    State.UNFENCED: Sign("◌", "no limits", CARE),
    State.READY: Sign("●", "ready", GOOD),
    State.MOVING: Sign("▶", "moving", CARE),
    State.HELD: Sign("‖", "held", BAD),
}
FITNESS: Final = {
    Fitness.FIT: Sign("✓", "fit", GOOD),
    Fitness.UNPROVEN: Sign("?", "unproven", CARE),
    Fitness.UNFIT: Sign("✗", "unfit", BAD),
}
OPERATED: Final = Sign("◉", "operated", "$text-accent")
RELEASED: Final = Sign("○", "released", PLAIN)
NO_DATUM: Final = Sign("◇", "none", CARE)
NOTHING: Final = Sign("·", "unknown", PLAIN)
SCALE_UNPROVEN: Final = Sign("?", "unproven", CARE)
SCALE_UNKNOWN: Final = Sign("·", "unknown", PLAIN)


def output_sign(reading: Reading | None, sensor: Sensor | None) -> Sign:
    """Return the state of the output; without a sensor its bare level."""
    if reading is None:
        return NOTHING
    if sensor is None:
        return Sign("·", f"level {int(reading.level)}", PLAIN)
    operated = reading.level is (sensor.output is OutputKind.NORMALLY_OPEN)
    return OPERATED if operated else RELEASED


def scale_sign(calibration: AxisCalibration | None, today: date | None) -> Sign:
    """Return how far the axis scale may be trusted."""
    if calibration is None:
        return SCALE_UNPROVEN
    due_on = calibration.due_on
    if today is not None and today > due_on:
        return Sign("✗", f"overdue {due_on}", BAD)
    return Sign("✓", f"until {due_on}", GOOD)


def age_text(seconds: float) -> str:
    """Return an age in words that fit a status line."""
    if seconds < 60:
        return f"{max(0, int(seconds))} s"
    minutes = int(seconds // 60)
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h"
