"""What the picture of the motion shows of a situation and of a reading. Pure."""

from __future__ import annotations

from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.tui.pictures.motion_scene import MotionPoint, MotionScene, Pose
from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import RunShown, Situation
from rig.tui.state.status_words import output_sign

# A little more than the way from which a run begins
_FAR_RATIO = 1.5
_FAR_MORE_MM = 2.5
_FAR_MM = 20.0


def motion_scene(now: Situation) -> MotionScene:
    """Return face, target and the points of the good sweeps of what is mounted."""
    sensor, target, traits = now.sensor, now.target, now.traits
    far_mm, travel_mm = _FAR_MM, 2.0 * _FAR_MM
    if sensor is not None:
        far_mm = _FAR_RATIO * sensor.rated_distance_mm + _FAR_MORE_MM
    if traits is not None:
        travel_mm = traits.travel_high_steps / traits.steps_per_mm
    scene = MotionScene(
        far_mm=far_mm,
        travel_mm=travel_mm,
        sensor_name="sensor" if sensor is None else sensor.name,
        target_name="target" if target is None else target.name,
        doing=now.doing,
    )
    run = now.run
    if run is None or (run.header.sensor, run.header.target) != (sensor, target):
        return scene
    return _with_run(scene, run)


def _with_run(scene: MotionScene, run: RunShown) -> MotionScene:
    rows = run.rows if run.coming is None else (*run.rows, run.coming)
    points = tuple(
        MotionPoint(
            speed_mm_s=row.speed_mm_s,
            operate_mm=row.operate_mm,
            release_mm=row.release_mm,
        )
        for row in rows
        if not row.void
    )
    figures = run.figures
    return MotionScene(
        run=run.header.run_id,
        far_mm=scene.far_mm,
        travel_mm=scene.travel_mm,
        sensor_name=scene.sensor_name,
        target_name=scene.target_name,
        doing=scene.doing,
        band_mm=_band_mm(run),
        points=points,
        void=sum(bool(row.void) for row in run.rows),
        wanted=run.header.sweeps_wanted,
        done=run.good,
        operate="" if figures is None else _words(figures.operate),
        release="" if figures is None else _words(figures.release),
        simulated=run.header.conditions.simulated,
    )


def _band_mm(run: RunShown) -> float:
    """Return the middle of the band: as found coarsely, else of the first sweep."""
    if run.band_mm is not None:
        return 0.5 * sum(run.band_mm)
    return next(
        (
            0.5 * (row.operate_mm + row.release_mm)
            for row in run.rows
            if row.operate_mm is not None and row.release_mm is not None
        ),
        0.0,
    )


def _words(figure: Figure) -> str:
    text = format_figure(figure)
    return f"{text.brief} n {text.n}"


def reported_pose(now: Situation, reading: Reading | None) -> Pose:
    """Return where the target was reported to be, and the state of the output."""
    if reading is None:
        return Pose()
    return Pose(
        gap_mm=reading.gap_mm,
        from_home_mm=reading.from_home_mm,
        output=output_sign(reading, now.sensor).word,
    )
