"""What the gap ruler shows of a situation and a reading. Pure."""

from __future__ import annotations

from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import Situation
from rig.tui.state.status_words import OPERATED, output_sign
from rig.tui.widgets.gap_ruler import RulerPicture

# A little more than the way from which a run begins
_FAR_RATIO = 1.5
_FAR_MORE_MM = 2.5


def ruler_picture(now: Situation, reading: Reading | None) -> RulerPicture:
    """Return face, target and the points of the good sweeps of what is mounted."""
    run = now.run
    if run is not None and (run.header.sensor, run.header.target) != (
        now.sensor,
        now.target,
    ):
        run = None
    rows = [] if run is None else [r for r in run.rows if not r.void]
    return RulerPicture(
        gap_mm=None if reading is None else reading.gap_mm,
        band_mm=None if run is None else run.band_mm,
        operate_mm=tuple(r.operate_mm for r in rows if r.operate_mm is not None),
        release_mm=tuple(r.release_mm for r in rows if r.release_mm is not None),
        target_name="target" if now.target is None else now.target.name,
        operated=output_sign(reading, now.sensor) is OPERATED,
        **_far(now),
    )


def _far(now: Situation) -> dict[str, float]:
    if now.sensor is None:
        return {}
    return {"far_mm": _FAR_RATIO * now.sensor.rated_distance_mm + _FAR_MORE_MM}
