"""Where the last part of a kind had its face on this rig, by the records."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from rig.analysis.run.run_figures import run_figures
from rig.model.mounted import OutputKind, Sensor, Target
from rig.procedures.touches import Play, play_of
from rig.records import Reader, RunFilter

# A holder that was clamped elsewhere is none of yesterday's business
_VALID = timedelta(hours=24)
# Void runs may be the newest; farther back the face may have been elsewhere
_LOOKED_AT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class LastPart:
    """A part of the kind that is mounted, as it was found.

    Attributes:
        face_mm: Distance from the home switch to its face.
        operate_mm: Gap at which it operated.
        output: How its output switches.
        play: What its touches showed of bench and probe.
        backlash_scatter_mm: Standard deviation of a touch in its backlash.
    """

    face_mm: float
    operate_mm: float
    output: OutputKind
    play: Play
    backlash_scatter_mm: float


def last_part(
    reader: Reader, rig_id: str, sensor: Sensor, target: Target, now: datetime
) -> LastPart | None:
    """Return the part of this kind that was measured last on a rig; None without one.

    Args:
        reader: Reads the records.
        rig_id: Identity of the rig.
        sensor: Kind of the sensor that is mounted.
        target: The target that is mounted.
        now: The time, UTC.

    Raises:
        RecordsError: The records cannot be read.
    """
    wanted = RunFilter(
        sensor=sensor.name, target=target.name, since=now - _VALID, newest=_LOOKED_AT
    )
    found = [run.run_id for run in reader.runs(wanted) if not run.void]
    headers, later = reader.headers(found), reader.later_conditions(found)
    for run_id in reversed(found):
        header = headers[run_id]
        conditions = (header.conditions, *later.get(run_id, ()))[-1]
        if conditions.rig_id != rig_id or header.sensor != sensor:
            continue
        operate_mm = _operate_mm(reader, run_id)
        if operate_mm is None:
            continue
        datum, backlash = conditions.datum, conditions.backlash
        return LastPart(
            face_mm=datum.position_steps / conditions.axis.steps_per_mm,
            operate_mm=operate_mm,
            output=sensor.output,
            play=play_of(datum, backlash),
            backlash_scatter_mm=backlash.standard_uncertainty_mm
            * math.sqrt(backlash.n),
        )
    return None


def _operate_mm(reader: Reader, run_id: str) -> float | None:
    """Return the operate point of a run or of the rounds of it so far."""
    figures = reader.latest_figures(run_id)
    if figures is None:
        run = reader.run(run_id)
        if all(sweep.void for sweep in run.sweeps):
            return None
        figures = run_figures(run)
    return figures.operate.value
