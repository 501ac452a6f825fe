"""Three lines that are always in view: rig, trust in it, and what goes on now."""

from __future__ import annotations

from datetime import datetime

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import LinkState, Situation
from rig.tui.state.status_words import (
    AXIS,
    CARE,
    GOOD,
    LINK,
    NO_DATUM,
    NOTHING,
    SCALE_UNKNOWN,
    Sign,
    age_text,
    output_sign,
    scale_sign,
)

STALE_LINK_S = 2.0


class StatusBar(Widget):
    """Shows the state of link, datum, scale, axis, gap and output."""

    situation: reactive[Situation] = reactive(Situation)
    """How things stand."""
    reading: reactive[Reading | None] = reactive[Reading | None](None)
    """The latest live reading."""
    time: reactive[datetime | None] = reactive[datetime | None](None)
    """The time, UTC; ages are reckoned from it."""
    link_age_s: reactive[float] = reactive(0.0)
    """How long ago the rig was heard."""

    def __init__(self, title: str, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.heading = title

    def render(self) -> RenderResult:
        """Return the three lines."""
        return Content("\n").join([self._who(), self._trust(), self._now()])

    def _who(self) -> Content:
        situation = self.situation
        parts: list[str | tuple[str, str]] = [
            ("Gapsweep", "bold $primary"),
            ("  "),
            (self.heading, "bold"),
        ]
        if situation.simulated:
            parts += ["  ", (" SIMULATED ", "bold reverse $warning")]
        if situation.traits is not None:
            parts.append(f"  rig {situation.traits.rig_id}")
        return Content.assemble(*parts)

    def _trust(self) -> Content:
        live = self.situation.link is LinkState.LIVE
        today = None if self.time is None else self.time.date()
        proven = scale_sign(self.situation.calibration, today)
        scale = proven if live else SCALE_UNKNOWN
        return _words(
            ("link", self._link()), ("datum", self._datum()), ("axis scale", scale)
        )

    def _now(self) -> Content:
        reading = self.reading
        axis = NOTHING if reading is None else AXIS[reading.state]
        output = output_sign(reading, self.situation.sensor)
        return _words(("axis", axis), ("output", output), ("gap", _gap(reading)))

    def _link(self) -> Sign:
        link = self.situation.link
        if link is LinkState.LIVE and self.link_age_s > STALE_LINK_S:
            return Sign("◌", f"silent {self.link_age_s:.0f} s", CARE)
        return LINK[link]

    def _datum(self) -> Sign:
        datum = self.situation.datum
        if datum is None:
            return NO_DATUM
        if self.time is None:
            return Sign("◆", "found", GOOD)
        age_s = (self.time - datum.found_at).total_seconds()
        return Sign("◆", f"{age_text(age_s)} old", GOOD)


def _gap(reading: Reading | None) -> Sign:
    if reading is None or (reading.gap_mm is None and reading.from_home_mm is None):
        return Sign("", "unknown", "")
    if reading.gap_mm is None:
        return Sign("", f"unknown, {reading.from_home_mm:.1f} mm from home", "")
    return Sign("", f"{reading.gap_mm:.3f} mm (live, no ±)", "bold")


def _words(*pairs: tuple[str, Sign]) -> Content:
    parts: list[str | tuple[str, str]] = []
    for name, sign in pairs:
        parts += ["  " if parts else "", (f"{name} ", "$text-muted")]
        text = str(sign) if sign.glyph else sign.word
        parts.append((text, sign.style) if sign.style else text)
    return Content.assemble(*parts)
