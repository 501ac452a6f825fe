"""What the picture of the motion shows, as plain values, and the same in words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rig.sheets.running_means import RunningMean, running_means
from rig.tui.pictures.scale import require_finite

SCATTER_WORDS = "95 %, scatter only"
STATES = ("operated", "released")


class Way(StrEnum):
    """Which way the target was last seen to go."""

    APPROACH = "approach"
    RETREAT = "retreat"
    REST = "at rest"
    UNKNOWN = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionPoint:
    """The points of one sweep, delay still in them.

    Attributes:
        speed_mm_s: Speed of the sweep.
        operate_mm: Operate point; None if there is none.
        release_mm: Release point; None if there is none, or none yet.
    """

    speed_mm_s: float
    operate_mm: float | None
    release_mm: float | None

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        points = (self.operate_mm, self.release_mm)
        require_finite("sweep", [p for p in points if p is not None])


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionScene:
    """What stands until the next edge.

    Attributes:
        run: Identity of the run that the points are of; empty for none.
        far_mm: Gap where the ruler ends, at least.
        band_mm: Middle between operate and release point as far as they are known; 0
            before.
        travel_mm: Length of the axis, for the time before there is a datum.
        sensor_name: What the sensor is called.
        target_name: What the target is called.
        points: Sweeps of the run so far that are not void.
        void: Number of void sweeps.
        wanted: Number of good sweeps wanted; 0 before there is a run.
        done: Number of good sweeps.
        operate: Operate point of the run that has ended, with its ±; empty before.
        release: Release point likewise.
        doing: What is being done, in words; empty for nothing.
        simulated: Whether the points were simulated.
    """

    run: str = ""
    far_mm: float = 20.0
    band_mm: float = 0.0
    travel_mm: float = 40.0
    sensor_name: str = "sensor"
    target_name: str = "target"
    points: tuple[MotionPoint, ...] = ()
    void: int = 0
    wanted: int = 0
    done: int = 0
    operate: str = ""
    release: str = ""
    doing: str = ""
    simulated: bool = False

    def operate_points(self) -> list[float]:
        """Return the operate points, mm."""
        return [p.operate_mm for p in self.points if p.operate_mm is not None]

    def release_points(self) -> list[float]:
        """Return the release points, mm."""
        return [p.release_mm for p in self.points if p.release_mm is not None]

    def slowest_mm_s(self) -> float:
        """Return the slowest speed; 0 before the first point."""
        return min((p.speed_mm_s for p in self.points), default=0.0)

    def operate_means(self) -> tuple[RunningMean, ...]:
        """Return the means of the operate points, the slowest first."""
        return running_means(
            [
                (p.speed_mm_s, p.operate_mm)
                for p in self.points
                if p.operate_mm is not None
            ]
        )

    def release_means(self) -> tuple[RunningMean, ...]:
        """Return the means of the release points, the slowest first."""
        return running_means(
            [
                (p.speed_mm_s, p.release_mm)
                for p in self.points
                if p.release_mm is not None
            ]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """Where the target is at a moment, and what the output does.

    Attributes:
        gap_mm: Gap; None without a datum.
        from_home_mm: How far the axis is from home; None where that is not known.
        output: "operated", "released", or what else is known of the output.
        way: Way that the target was last seen to go.
        silent_s: How long nothing was heard, if longer than usual; else 0.
    """

    gap_mm: float | None = None
    from_home_mm: float | None = None
    output: str = "unknown"
    way: Way = Way.UNKNOWN
    silent_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """A point on its way from the ruler to its pile.

    Attributes:
        gap_mm: The point.
        operate: Whether it is an operate point; else a release point.
        share: How far it has come, 0 to 1.
    """

    gap_mm: float
    operate: bool
    share: float


def tell_motion(scene: MotionScene, pose: Pose) -> list[str]:
    """Return the picture in words: the same facts, a line each."""
    lines = [_output_words(scene, pose), _place_words(scene, pose)]
    if scene.doing:
        lines.append(f"doing: {scene.doing}")
    if scene.wanted:
        lines.append(progress_words(scene))
    made = "SIMULATED " if scene.simulated else ""
    for name, figure, means in (
        ("operate point", scene.operate, scene.operate_means()),
        ("release point", scene.release, scene.release_means()),
    ):
        if figure:
            lines.append(f"{made}{name}: {figure}")
        lines += [
            f"{made}{name}s at {mean.speed} mm/s, delay in them:"
            f" {mean.words}, {mean.counts}"
            for mean in means
        ]
        if not figure and not means:
            lines.append(f"{name}: none yet")
    if scene.points:
        lines.append(f"± of the means: {SCATTER_WORDS}")
    return lines


def progress_words(scene: MotionScene) -> str:
    """Return how many sweeps are good and how many void."""
    void = f", {scene.void} void" if scene.void else ""
    return f"{scene.done} of {scene.wanted} sweeps{void}"


def _output_words(scene: MotionScene, pose: Pose) -> str:
    return f"sensor {scene.sensor_name}: {pose.output}"


def _place_words(scene: MotionScene, pose: Pose) -> str:
    way = f", {pose.way}" if pose.way else ""
    heard = way + (f", heard {pose.silent_s:.1f} s ago" if pose.silent_s else "")
    if pose.gap_mm is not None:
        return (
            f"target {scene.target_name}: gap {pose.gap_mm:.3f} mm (live, no ±){heard}"
        )
    if pose.from_home_mm is not None:
        return (
            f"target {scene.target_name}: {pose.from_home_mm:.1f} mm from home"
            f"{heard}; where the face is, is not known yet"
        )
    return f"target {scene.target_name}: where it is, is not known{heard}"
