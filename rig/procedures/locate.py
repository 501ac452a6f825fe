"""Coarse locate: one quick out-and-back that finds the switching band."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.edges.quality import SweepKind, classify_sweep, pick_edges
from rig.errors import BenchError, NoticesLost
from rig.model.attempts import Outcome
from rig.model.mounted import Sensor
from rig.model.phases import Phase
from rig.model.sweeps import Edge
from rig.procedures.edges import output_edges
from rig.procedures.events import Located, StepBegan, Tell
from rig.procedures.mover import Motion
from rig.procedures.ready_bench import Bench
from rig.procedures.unmeasured import Unmeasured

# Farthest release of a conforming sensor: 1.1 s_r of 1.1 s_n plus a differential travel
# of 0.2 of 1.1 s_n (common practice, no source); further out nothing should be operated
START_RATIO = 1.43
START_ROOM_MM = 2.0  # beyond that, to run up in
_BOUNCE_MM = 0.1  # beyond an edge, so that a late bounce is still on its flank

_OUTCOMES = {
    SweepKind.NEVER_SWITCHES: Outcome.NEVER_SWITCHES,
    SweepKind.ON_AT_FAR_END: Outcome.ALWAYS_ON,
    SweepKind.NEVER_RELEASES: Outcome.NEVER_RELEASES,
    SweepKind.CHATTER: Outcome.CHATTER,
    SweepKind.INVERTED: Outcome.INVERTED,
    SweepKind.OUTPUT_LOST: Outcome.OUTPUT_LOST,
    SweepKind.EDGE_MISSING: Outcome.EDGE_MISSING,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Where the output switches, coarsely, as logged.

    Attributes:
        operate_steps: Position latched on approach.
        release_steps: Position latched on retreat.
    """

    operate_steps: int
    release_steps: int


def start_gap_mm(bench: Bench, sensor: Sensor) -> float:
    """Return the gap at which a sensor must not be operated yet.

    Raises:
        BenchError: The stroke does not reach so far.
    """
    wanted_mm = START_RATIO * sensor.rated_distance_mm + START_ROOM_MM
    if wanted_mm > bench.widest_gap_mm:
        raise BenchError(
            f"the stroke is too short for {sensor.name}: it reaches a gap of "
            f"{bench.widest_gap_mm:.1f} mm and {wanted_mm:.1f} mm are needed",
            hint="mount the sensor further from the home switch",
        )
    return wanted_mm


def locate(bench: Bench, sensor: Sensor, tell: Tell) -> Band:
    """Find the switching band at the coarse speed.

    If a quick way to the face just went over it, only the way out is lacking; after a
    slow one, a pass near its edges will do. Where that shows anything but one edge each
    way, it is gone over once more.

    Raises:
        BenchError: The stroke is too short.
        Unmeasured: The output does not switch once each way; the sentence names what
            was seen and the likely causes.
        NoticesLost: Edges were lost on the way, so nothing was seen for certain.
        Stopped: Somebody stopped it.
    """
    tell(StepBegan(what="locating the switching band", phase=Phase.LOCATING))
    band = _after_way_in(bench, sensor) or _out_and_back(bench, sensor)
    tell(
        Located(
            operate_mm=bench.gap_mm(band.operate_steps),
            release_mm=bench.gap_mm(band.release_steps) - bench.backlash.of_screw_mm,
        )
    )
    return band


def _after_way_in(bench: Bench, sensor: Sensor) -> Band | None:
    """Return the band if the way to the face spares the long pass."""
    way_in, mover = bench.way_in, bench.mover
    if way_in is None or mover.position_steps < way_in.nearest_steps:
        return None
    if way_in.speed_mm_s < bench.settings.coarse_speed_mm_s:
        return _near_its_edges(bench, sensor)
    out = _past_edge(bench, sensor, mover.steps(_BOUNCE_MM))
    edges = (*way_in.edges, *output_edges(out, approaching=False))
    return _band(edges, sensor, way_in.level_at_start)


def _near_its_edges(bench: Bench, sensor: Sensor) -> Band | None:
    """Return the band by a pass that runs up where the output has just released."""
    mover, speed_mm_s = bench.mover, bench.settings.coarse_speed_mm_s
    bounce_steps = mover.steps(_BOUNCE_MM)
    drive = bench.drive
    run_up_steps = drive.ramp_steps(speed_mm_s) + max(0.0, drive.backlash_steps)
    _past_edge(bench, sensor, bounce_steps + round(run_up_steps))
    level_at_start = mover.output_level()
    into = mover.go(
        bench.nearest_steps, speed_mm_s, edges=1, overrun_steps=bounce_steps
    )
    out = _past_edge(bench, sensor, bounce_steps)
    edges = (
        *output_edges(into, approaching=True),
        *output_edges(out, approaching=False),
    )
    return _band(edges, sensor, level_at_start)


def _past_edge(bench: Bench, sensor: Sensor, overrun_steps: int) -> Motion:
    """Go out so far past the first edge of the output, or all the way."""
    return bench.mover.go(
        bench.position_steps(start_gap_mm(bench, sensor)),
        bench.settings.coarse_speed_mm_s,
        edges=1,
        overrun_steps=overrun_steps,
    )


def _band(edges: tuple[Edge, ...], sensor: Sensor, level_at_start: bool) -> Band | None:
    """Return the band between two edges; None where there is anything else."""
    quality = classify_sweep(edges, output=sensor.output, level_at_start=level_at_start)
    operate, release = pick_edges(edges, sensor.output)
    if not quality.usable or operate is None or release is None:
        return None
    return Band(
        operate_steps=operate.position_steps, release_steps=release.position_steps
    )


def _out_and_back(bench: Bench, sensor: Sensor) -> Band:
    mover, speed_mm_s = bench.mover, bench.settings.coarse_speed_mm_s
    start_steps = bench.position_steps(start_gap_mm(bench, sensor))
    mover.go(start_steps, speed_mm_s)
    level_at_start = mover.output_level()
    into = mover.go(
        bench.nearest_steps,
        speed_mm_s,
        edges=1,
        overrun_steps=mover.steps(_BOUNCE_MM),
    )
    out = mover.go(start_steps, speed_mm_s)
    if into.notices_lost or out.notices_lost:
        raise NoticesLost(
            "edges were lost on the way from the rig while the switching band was"
            " located",
            hint="check the cable, and keep it away from the motor's, then begin again",
        )
    edges = (
        *output_edges(into, approaching=True),
        *output_edges(out, approaching=False),
    )
    operate, release = _points(edges, sensor, level_at_start)
    return Band(
        operate_steps=operate.position_steps, release_steps=release.position_steps
    )


def _points(
    edges: tuple[Edge, ...], sensor: Sensor, level_at_start: bool
) -> tuple[Edge, Edge]:
    quality = classify_sweep(edges, output=sensor.output, level_at_start=level_at_start)
    operate, release = pick_edges(edges, sensor.output)
    if not quality.usable or operate is None or release is None:
        raise Unmeasured(
            f"{sensor.name} cannot be measured: {quality.kind}. {quality.sentence}",
            outcome=_OUTCOMES[quality.kind],
            hint=f"likely: {quality.cause}",
        )
    return operate, release
