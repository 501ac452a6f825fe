"""Datum and backlash from the latches of a touch-off, by the steps and by a scale."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

import numpy as np

from rig.analysis.edges.latched_places import latched_steps
from rig.analysis.edges.touch import (
    backlash_from_contacts,
    datum_from_touches,
    without_probe_delay,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.model.mounted import Axis, Backlash, Datum


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch:
    """What the controller latched as the probe changed.

    Attributes
    ----------
    position_steps : int
        Step count, from home.
    scale : int or None
        Count of the scale less that, modulo 65536; None without one.
    """

    position_steps: int
    scale: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceTouches:
    """The touches of one touch-off.

    Attributes
    ----------
    search : Latch
        Contact at the search speed.
    closings : tuple of Latch
        Contacts made slowly, on approach; n of at least 2.
    openings : tuple of Latch
        Contacts broken on the retreat that followed each.
    """

    search: Latch
    closings: tuple[Latch, ...]
    openings: tuple[Latch, ...]

    def datum_and_backlash(
        self,
        axis: Axis,
        *,
        probe_uncertainty_mm: float,
        found_at: datetime,
        search_mm_s: float,
        touch_mm_s: float,
    ) -> tuple[Datum, Backlash]:
        """Find datum and backlash, the probe's delay taken off.

        Parameters
        ----------
        axis : Axis
            What is known of the axis.
        probe_uncertainty_mm : float
            Standard uncertainty of the probe itself.
        found_at : datetime
            When, UTC.
        search_mm_s, touch_mm_s : float
            Speeds as carried out.

        Returns
        -------
        datum : Datum
            With a scale, its uncertainty and delay are of the place by the scale.
        backlash : Backlash
            With a scale, what that leaves of it, beside the screw's own.

        Raises
        ------
        ValueError
            If there are too few touches.
        BenchError
            If the axis has a scale and a latch none.
        """
        found = partial(
            self._found,
            probe_uncertainty_mm=probe_uncertainty_mm,
            found_at=found_at,
            search_mm_s=search_mm_s,
            touch_mm_s=touch_mm_s,
        )
        by_steps, screw = found(replace(axis, scale_counts_per_mm=None))
        if axis.scale_counts_per_mm is None:
            return by_steps, screw
        datum, backlash = found(axis)
        return (
            replace(
                datum,
                position_steps=by_steps.position_steps,
                scale_steps=datum.position_steps,
            ),
            replace(backlash, screw_mm=screw.value_mm),
        )

    def _found(
        self,
        axis: Axis,
        *,
        probe_uncertainty_mm: float,
        found_at: datetime,
        search_mm_s: float,
        touch_mm_s: float,
    ) -> tuple[Datum, Backlash]:
        closings = contact_steps(self.closings, axis, approaching=True)
        openings = contact_steps(self.openings, axis, approaching=False)
        (search,) = contact_steps((self.search,), axis, approaching=True)
        scale = axis.steps_per_mm
        return without_probe_delay(
            datum_from_touches(
                closings,
                steps_per_mm=scale,
                probe_uncertainty_mm=probe_uncertainty_mm,
                found_at=found_at,
            ),
            backlash_from_contacts(closings, openings, steps_per_mm=scale),
            float(search),
            steps_per_mm=scale,
            search_mm_s=search_mm_s,
            touch_mm_s=touch_mm_s,
        )


def contact_steps(
    latches: tuple[Latch, ...], axis: Axis, *, approaching: bool
) -> FloatArray:
    """Step counts that a datum is found from.

    Parameters
    ----------
    latches : tuple of Latch
        Contacts, n of them.
    axis : Axis
        What is known of the axis; without a scale the counts are the motor's.
    approaching : bool
        Whether they were made on approach.

    Returns
    -------
    ndarray, shape (n,)
        Steps from home.

    Raises
    ------
    BenchError
        If the axis has a scale and a latch none.
    """
    return np.array(
        [
            latched_steps(
                latch.position_steps, latch.scale, axis, approaching=approaching
            )
            for latch in latches
        ],
        dtype=np.float64,
    )
