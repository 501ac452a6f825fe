"""What an order to the rig will move, in order, for whoever stands beside it.

Command line, help and terminal UI take these words from here, and say them before
anything moves. A test holds each list against what really is ordered on the wire.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from rig.model.settings import BenchSettings

USUAL = BenchSettings()


class Part(StrEnum):
    """One part of what moves."""

    HOME = "home"
    FIND_FACE = "find the face"
    TOUCH = "touch"
    BACK_OFF = "back off"
    LOCATE = "locate"
    SWEEP = "sweep"
    TOUCH_AGAIN = "touch again"
    HOME_AGAIN = "home again"
    BLOCKS = "blocks"
    ROOM = "room"
    HOLD = "hold"
    APPROACH = "approach"


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionAhead:
    """One part, in words that go on from "the axis".

    Attributes:
        part: Kind of motion.
        words: Clause with its speed, after "the axis".
        brief: Clause in a few words.
    """

    part: Part
    words: str
    brief: str


MotionsAhead = tuple[MotionAhead, ...]


def touch_off_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a touch-off moves."""
    quick, search, touch = (
        f"{speed_mm_s:g} mm/s"
        for speed_mm_s in (
            settings.coarse_speed_mm_s,
            settings.search_speed_mm_s,
            settings.touch_speed_mm_s,
        )
    )
    return (
        MotionAhead(
            part=Part.HOME,
            words=f"homes: away from the face at {quick} to the switch, slowly again",
            brief="homes",
        ),
        MotionAhead(
            part=Part.FIND_FACE,
            words=f"looks for the face: toward it at {search} until the probe closes",
            brief="looks for the face",
        ),
        MotionAhead(
            part=Part.TOUCH,
            words=f"backs off, touches the face {settings.touches} times at {touch}",
            brief=f"touches it {settings.touches} times",
        ),
        MotionAhead(
            part=Part.BACK_OFF, words="backs off to a gap of 1 mm", brief="backs off"
        ),
    )


def check_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a check of the bench moves."""
    again = MotionAhead(
        part=Part.HOME_AGAIN,
        words="homes again, several times in a row",
        brief="homes again",
    )
    return (*touch_off_ahead(settings), again)


def run_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a run moves on a bench that was touched off."""
    quick = f"{settings.coarse_speed_mm_s:g} mm/s"
    return (
        MotionAhead(
            part=Part.LOCATE,
            words=f"locates the band: out, toward the face at {quick}, and out again",
            brief="finds the band",
        ),
        MotionAhead(
            part=Part.SWEEP,
            words="sweeps: to and fro across the switching band, sweep after sweep",
            brief="sweeps",
        ),
        MotionAhead(
            part=Part.TOUCH_AGAIN,
            words="touches the face again, in long runs every half hour too",
            brief="touches the face",
        ),
        MotionAhead(
            part=Part.HOME_AGAIN,
            words=f"goes out of the way at {settings.retreat_speed_mm_s:g} mm/s; homes"
            " if face or switch moved",
            brief="parks",
        ),
    )


def touch_off_and_run_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a touch-off and a run move, of the first part of a kind or the next.

    What the part before spares is not left out: who stands beside it may count on more
    motions rather than on fewer.
    """
    quick, search, touch = (
        f"{speed_mm_s:g} mm/s"
        for speed_mm_s in (
            settings.coarse_speed_mm_s,
            settings.search_speed_mm_s,
            settings.touch_speed_mm_s,
        )
    )
    words = {
        Part.HOME: f"homes if it is due: away from the face at {quick}, slowly again",
        Part.FIND_FACE: f"looks for the face at {search}, a known kind's at {quick}"
        " first",
        Part.TOUCH: f"touches the face up to {settings.touches} times at {touch}",
    }
    touch_off = tuple(
        replace(motion, words=words.get(motion.part, motion.words))
        for motion in touch_off_ahead(settings)
    )
    return (*touch_off, *run_ahead(settings))


def blocks_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a calibration with gauge blocks moves."""
    blocks = MotionAhead(
        part=Part.BLOCKS,
        words="makes room for each block, then touches it as it touched the face",
        brief="touches the block",
    )
    again = MotionAhead(
        part=Part.TOUCH_AGAIN,
        words="makes room, then touches the face again without a block",
        brief="touches the face, the first time after homing",
    )
    return (*touch_off_ahead(settings), blocks, again)


def block_put_ahead(*, bare: bool) -> MotionsAhead:
    """Return what moves once a gauge block was put on the probe, or taken away."""
    *_, blocks, again = blocks_ahead()
    return (again,) if bare else (blocks,)


def places_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a check of the screw moves at each place."""
    quick = f"{settings.coarse_speed_mm_s:g} mm/s"
    room = MotionAhead(
        part=Part.ROOM,
        words=f"goes out to its end at {quick}, for the next place",
        brief="goes out of the way",
    )
    return (*touch_off_and_run_ahead(settings), room)


def switch_on_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what moves for switchings of the sensor's supply."""
    quick = f"{settings.coarse_speed_mm_s:g} mm/s"
    rests = MotionAhead(
        part=Part.HOLD,
        words=f"goes out, then to half of s_n at {quick}, and rests at each",
        brief="rests at two gaps while the supply is switched",
    )
    return (*touch_off_and_run_ahead(settings)[: len(touch_off_ahead())], rests)


def hold_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what moves before a trimmer is set."""
    quick = f"{settings.coarse_speed_mm_s:g} mm/s"
    return (
        MotionAhead(
            part=Part.HOLD,
            words=f"goes out, then to the wanted gap, at {quick}",
            brief="goes out, then to the gap",
        ),
    )


def trimmer_check_ahead(settings: BenchSettings = USUAL) -> MotionsAhead:
    """Return what a check of a trimmer moves."""
    approach = MotionAhead(
        part=Part.APPROACH,
        words="goes out, and toward the face until the output operates, four times",
        brief="approaches four times",
    )
    return (approach, *hold_ahead(settings))


def numbered(motions: MotionsAhead) -> list[str]:
    """Return a line for each part, in order."""
    return [f"{i}. {motion.words}" for i, motion in enumerate(motions, start=1)]


def in_brief(motions: Iterable[MotionAhead]) -> str:
    """Return the parts in order as one clause."""
    return ", ".join(motion.brief for motion in motions)


def hands_clear(motions: Iterable[MotionAhead]) -> str:
    """Return the caution with the parts in order, to follow the key that starts."""
    return f"hands clear: {in_brief(motions)}"


def motions_text(motions: MotionsAhead, when: str = "") -> str:
    """Return what will move, in order, as somebody reads it who stands beside it.

    Args:
        motions: The motions in their order.
        when: How often that is; empty for once.
    """
    head = f"The axis moves{when and f' {when}'}. Keep hands clear; Ctrl-C stops it."
    lines = [f"  {line}" for line in numbered(motions)]
    return "\n".join([f"{head} In order, it", *lines])
