"""Where the target was at a latch: by the motor's steps, or by a linear scale.

A scale is read where the target is, so play, errors of the screw and lost steps are not
in it. Places by it are told in steps, so that all that follows is the same.
"""

from __future__ import annotations

from typing import Final

from rig.errors import BenchError
from rig.model.mounted import Axis, Backlash, Datum
from rig.model.sweeps import Edge

_ROUND: Final = 2**16  # of what an edge tells of the scale
_HALF_STEP: Final = 0.5  # what gaps take off a latched step count, and not off a scale


def scale_place_steps(
    position_steps: float, scale: int, counts_per_step: float
) -> float:
    """Place that a latched scale tells.

    Parameters
    ----------
    position_steps : float
        Step count at the latch, from home.
    scale : int
        Count of the scale less that, modulo 65536.
    counts_per_step : float
        Counts of the scale for a step, above 0.

    Returns
    -------
    float
        Middle of the count, in steps from home.

    Notes
    -----
    Of the counts that the edge leaves open, the one nearest to where the steps say that
    the target is. A count C says that the place is between C and C + 1, whichever way
    the target goes.
    """
    near = position_steps * counts_per_step
    off = (position_steps + scale - near + _ROUND // 2) % _ROUND - _ROUND // 2
    return (near + off + 0.5) / counts_per_step


def latched_steps(
    position_steps: float, scale: int | None, axis: Axis, *, approaching: bool
) -> float:
    """Step count that figures take for a latch.

    Parameters
    ----------
    position_steps : float
        Step count at the latch, from home.
    scale : int or None
        What the scale told at the latch; None without one.
    axis : Axis
        What is known of the axis.
    approaching : bool
        Whether the axis went toward the face.

    Returns
    -------
    float
        The count itself without a scale. With one, the count that an ideal screw would
        have had: half a step on the far side of the place.

    Raises
    ------
    BenchError
        If the axis has a scale and the latch none.
    """
    if axis.scale_counts_per_mm is None:
        return position_steps
    if scale is None:
        raise BenchError(
            f"the edge at step {position_steps:g} has no count of the scale",
            hint="sweep again; the controller tells of a scale and leaves it out",
        )
    counts_per_step = axis.scale_counts_per_mm / axis.steps_per_mm
    place = scale_place_steps(position_steps, scale, counts_per_step)
    return place + (_HALF_STEP if approaching else -_HALF_STEP)


def edge_steps(edge: Edge, axis: Axis) -> float:
    """Step count that figures take for an edge, as `latched_steps` gives it."""
    return latched_steps(
        edge.position_steps, edge.scale, axis, approaching=edge.approaching
    )


def parted_mm(edge: Edge, axis: Axis, datum: Datum, backlash: Backlash) -> float:
    """How far scale and steps have parted since the touch-off.

    Parameters
    ----------
    edge : Edge
        Edge with a count of the scale.
    axis, datum, backlash : Axis, Datum, Backlash
        What the touch-off found.

    Returns
    -------
    float
        Scale less steps, less what they were apart by at the touches on the same
        flank, mm. Lost steps stay in it, and so does an error of the screw.
    """
    apart = edge_steps(edge, axis) - edge.position_steps
    apart -= datum.place_steps - datum.position_steps
    play_mm = 0.0 if edge.approaching else backlash.of_screw_mm - backlash.value_mm
    return apart / axis.steps_per_mm - play_mm
