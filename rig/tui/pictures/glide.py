"""Where a target is between two readings: one reading behind, and never ahead of one.

Pure: whoever asks says what time it is.
"""

from __future__ import annotations

from rig.tui.pictures.motion_scene import Pose, Way

_LONGEST_S = 0.25  # a gap that was reported more slowly is gone through in this time
_STANDS_MM = 0.0005  # half a step of an ordinary axis: less is no motion


class Glide:
    """Goes from the last place that was reported to the newest."""

    def __init__(self) -> None:
        self._from = self._to = Pose()
        self._at_s = 0.0
        self._takes_s = 0.0

    def see(self, pose: Pose, at_s: float) -> None:
        """Take what is reported now; the way it goes is found from the last.

        Args:
            pose: What is reported; its way counts for nothing.
            at_s: The time, s.
        """
        here = self.pose(at_s)
        before = self._to
        takes_s = min(_LONGEST_S, max(0.0, at_s - self._at_s))
        known = (before.gap_mm is None) is (pose.gap_mm is None)
        self._from = here if known else pose
        self._takes_s = takes_s if known else 0.0
        self._at_s = at_s
        self._to = Pose(
            gap_mm=pose.gap_mm,
            from_home_mm=pose.from_home_mm,
            output=pose.output,
            way=_way(before, pose),
        )

    def pose(self, at_s: float, *, silent_s: float = 0.0) -> Pose:
        """Return where to show the target at a time."""
        share = self._share(at_s)
        return Pose(
            gap_mm=_between(self._from.gap_mm, self._to.gap_mm, share),
            from_home_mm=_between(
                self._from.from_home_mm, self._to.from_home_mm, share
            ),
            output=self._to.output,
            way=self._to.way,
            silent_s=silent_s,
        )

    def newest(self, *, silent_s: float = 0.0) -> Pose:
        """Return the place that was reported last."""
        return self.pose(self._at_s + self._takes_s, silent_s=silent_s)

    def goes_on(self, at_s: float) -> bool:
        """Whether the newest place is not reached yet."""
        moves = (self._from.gap_mm, self._from.from_home_mm) != (
            self._to.gap_mm,
            self._to.from_home_mm,
        )
        return moves and self._share(at_s) < 1.0

    def _share(self, at_s: float) -> float:
        if self._takes_s <= 0.0:
            return 1.0
        return min(1.0, max(0.0, (at_s - self._at_s) / self._takes_s))


def _between(begin: float | None, end: float | None, share: float) -> float | None:
    if begin is None or end is None:
        return end
    return begin + share * (end - begin)


def _way(before: Pose, now: Pose) -> Way:
    if before.from_home_mm is None or now.from_home_mm is None:
        return Way.UNKNOWN
    went_mm = now.from_home_mm - before.from_home_mm
    if abs(went_mm) < _STANDS_MM:
        return Way.REST
    return Way.APPROACH if went_mm > 0 else Way.RETREAT
