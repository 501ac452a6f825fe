"""Datum and backlash from contacts on the touch probe; knows no sensor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import effective_degrees_of_freedom, mean_and_sd
from rig.model.mounted import Backlash, BacklashSource, Datum


def datum_from_touches(
    contact_steps: npt.ArrayLike,
    *,
    steps_per_mm: float,
    probe_uncertainty_mm: float,
    found_at: datetime,
) -> Datum:
    """Find the datum from contacts on approach.

    Parameters
    ----------
    contact_steps : array_like, shape (n,)
        Step counts latched at contact, from home; n of at least 2.
    steps_per_mm : float
        Scale of the axis.
    probe_uncertainty_mm : float
        Standard uncertainty of the probe itself.
    found_at : datetime
        When, UTC.

    Returns
    -------
    Datum
        Position of the mean contact, at the middle of the step's interval.

    Raises
    ------
    ValueError
        If n is below 2 or a value is not finite.

    Notes
    -----
    Touches are slow: the travel during the probe's delay is taken to be below a step
    and is no part of this. Touches that scatter by less than half a step leave the
    place within the step unknown; it is then added as a rectangle one step wide.
    """
    contacts = require_finite("contact_steps", contact_steps)
    mean, uncertainty_mm, dof = _mean_of_contacts(contacts, steps_per_mm, grids=1)
    return Datum(
        position_steps=mean - 0.5,
        standard_uncertainty_mm=uncertainty_mm,
        degrees_of_freedom=dof,
        n=int(contacts.size),
        probe_uncertainty_mm=probe_uncertainty_mm,
        found_at=found_at,
    )


def backlash_from_contacts(
    approach_steps: npt.ArrayLike, retreat_steps: npt.ArrayLike, *, steps_per_mm: float
) -> Backlash:
    """Find the backlash from pairs of contact made and contact broken.

    Parameters
    ----------
    approach_steps : array_like, shape (n,)
        Step counts at which the contact closed on approach; n of at least 2.
    retreat_steps : array_like, shape (n,)
        Step counts at which it opened on the retreat that followed each.
    steps_per_mm : float
        Scale of the axis.

    Returns
    -------
    Backlash
        Mean of the pairs' differences; the contact itself has no hysteresis.

    Raises
    ------
    ValueError
        If the numbers of contacts differ, n is below 2 or a value is not finite.

    Notes
    -----
    Counts N on approach and N' on retreat stand for N - 1/2 and N' + 1/2, so a step is
    taken off the difference.
    """
    closing = require_finite("approach_steps", approach_steps)
    opening = require_finite("retreat_steps", retreat_steps)
    if closing.shape != opening.shape:
        raise ValueError("every contact on approach needs one on retreat")
    lost = closing - opening - 1.0
    mean, uncertainty_mm, dof = _mean_of_contacts(lost, steps_per_mm, grids=2)
    return Backlash(
        value_mm=mean / steps_per_mm,
        standard_uncertainty_mm=uncertainty_mm,
        degrees_of_freedom=dof,
        n=int(lost.size),
        source=BacklashSource.PROBE,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactDelay:
    """Time from the contact to its latch.

    Attributes
    ----------
    value_s : float
        Way that a fast touch closes beyond slow ones, over the difference of speeds.
    standard_uncertainty_s : float
        Standard uncertainty, from the scatter of the slow touches.
    degrees_of_freedom : float
        Degrees of freedom of that uncertainty.
    """

    value_s: float
    standard_uncertainty_s: float
    degrees_of_freedom: float


def contact_delay(
    search_steps: float,
    datum: Datum,
    *,
    steps_per_mm: float,
    search_mm_s: float,
    touch_mm_s: float,
) -> ContactDelay | None:
    """Find the delay of the probe from its contacts at two speeds.

    Parameters
    ----------
    search_steps : float
        Step count at the contact of the first, fast touch.
    datum : Datum
        What the slow touches gave.
    steps_per_mm : float
        Scale of the axis.
    search_mm_s, touch_mm_s : float
        Speeds as carried out.

    Returns
    -------
    ContactDelay or None
        None if both speeds are alike.

    Notes
    -----
    A contact that is late by t is latched v t beyond its place. At the touch speed v
    that makes every gap v t too large, and the backlash 2 v t, so the differential
    travel that much too small.
    """
    apart_mm_s = search_mm_s - touch_mm_s
    if not apart_mm_s > 0.25 * touch_mm_s:
        return None
    later_mm = (search_steps - 0.5 - datum.position_steps) / steps_per_mm
    # The fast touch scatters as a single slow one does
    scatter_mm = datum.standard_uncertainty_mm * math.sqrt(datum.n + 1)
    return ContactDelay(
        value_s=later_mm / apart_mm_s,
        standard_uncertainty_s=scatter_mm / apart_mm_s,
        degrees_of_freedom=datum.degrees_of_freedom,
    )


def _mean_of_contacts(
    steps: FloatArray, steps_per_mm: float, *, grids: int
) -> tuple[float, float, float]:
    """Mean in steps, its standard uncertainty in mm and degrees of freedom.

    `grids` says how many independent places between steps enter a reading.
    """
    mean, sd = mean_and_sd(steps)
    n = steps.shape[-1]
    scatter = float(sd) / math.sqrt(n)
    grid = math.sqrt(grids / 12.0) if sd < 0.5 else 0.0
    dof = effective_degrees_of_freedom([scatter, grid], [float(n - 1), math.inf])
    return float(mean), math.hypot(scatter, grid) / steps_per_mm, float(dof)
