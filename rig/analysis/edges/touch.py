"""Datum and backlash from contacts on the touch probe; knows no sensor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import (
    coverage_factor,
    effective_degrees_of_freedom,
    mean_and_sd,
)
from rig.model.mounted import Backlash, BacklashSource, Datum

LEAST_TOUCHES = 3
TOUCHES_SHARE = 0.05  # of the variance: it adds 1 in 40 to the uncertainty


def datum_from_touches(
    contact_steps: npt.ArrayLike,
    *,
    steps_per_mm: float,
    probe_uncertainty_mm: float,
    found_at: datetime,
    late_mm: float = 0.0,
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
    late_mm : float
        Travel during the delay of the probe, as touches before measured it.

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
    Where nobody measured the delay of the probe, its travel is still in the datum, see
    `without_probe_delay`. Touches that scatter by less than half a step leave the
    place within the step unknown; it is then added as a rectangle one step wide.
    """
    contacts = require_finite("contact_steps", contact_steps)
    mean, uncertainty_mm, dof = _mean_of_contacts(contacts, steps_per_mm, grids=1)
    return Datum(
        position_steps=mean - 0.5 - late_mm * steps_per_mm,
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


def planned_touches(
    scatters_mm: Sequence[float], others_mm: Sequence[float], *, most: int
) -> int:
    """Plan how many touches a datum and a backlash need beside what else is uncertain.

    Parameters
    ----------
    scatters_mm : sequence of float
        Standard deviation of a touch in each of the figures that rest on them, as
        touches on this bench before showed it; mm.
    others_mm : sequence of float
        Standard uncertainty of everything else in each of those; mm.
    most : int
        Touches beyond which none is asked for.

    Returns
    -------
    int
        The fewest, `LEAST_TOUCHES` or more, whose share of the variance is at most
        `TOUCHES_SHARE` in each figure; `most` if no number up to it is enough.

    Notes
    -----
    Few touches tell their own scatter badly, so it counts with Student's factor over
    the normal one. The number rests on touches before these alone: touches that ended
    by their own scatter would favour small ones.
    """
    for n in range(LEAST_TOUCHES, most):
        factor = float(coverage_factor(n - 1)) / float(coverage_factor(math.inf))
        if all(
            (factor * scatter) ** 2 / n <= TOUCHES_SHARE * other**2
            for scatter, other in zip(scatters_mm, others_mm, strict=True)
        ):
            return n
    return max(most, 2)


def without_probe_delay(
    datum: Datum,
    backlash: Backlash,
    search_steps: float,
    *,
    steps_per_mm: float,
    search_mm_s: float,
    touch_mm_s: float,
) -> tuple[Datum, Backlash]:
    """Take the travel during the probe's delay off a touch-off, if two speeds show it.

    Parameters
    ----------
    datum, backlash : Datum, Backlash
        What the slow touches gave.
    search_steps : float
        Step count at the contact of the first, fast touch.
    steps_per_mm : float
        Scale of the axis.
    search_mm_s, touch_mm_s : float
        Speeds as carried out.

    Returns
    -------
    datum : Datum
        With `late_mm` and its uncertainty.
    backlash : Backlash
        Short of the two delays that were in it. Both are as they were if the speeds are
        much alike, so that they show no delay.

    Notes
    -----
    A contact that is late by t is latched v t beyond its place, so touches at two
    speeds lie t (v1 - v2) apart, and the fast touch is one reading that scatters as a
    slow one does. The slow touches give the delay too: with k = v2 / (v1 - v2) a
    scatter d of their mean moves the datum by (1 + k) d and the backlash by
    (1 + 2 k) d. That is more than delay and mean would give if they were independent,
    so the standard uncertainties of both grow by sqrt(1 + 2 k) (GUM, 5.2.2).
    """
    apart_mm_s = search_mm_s - touch_mm_s
    if not apart_mm_s > 0.25 * touch_mm_s:
        return datum, backlash
    share = touch_mm_s / apart_mm_s
    late_mm = share * (search_steps - 0.5 - datum.position_steps) / steps_per_mm
    scatter_mm = datum.standard_uncertainty_mm * math.sqrt(datum.n + 1)
    more = math.sqrt(1.0 + 2.0 * share)
    return (
        replace(
            datum,
            position_steps=datum.position_steps - late_mm * steps_per_mm,
            standard_uncertainty_mm=more * datum.standard_uncertainty_mm,
            late_mm=late_mm,
            late_uncertainty_mm=share * scatter_mm,
        ),
        replace(
            backlash,
            value_mm=backlash.value_mm - 2.0 * late_mm,
            standard_uncertainty_mm=more * backlash.standard_uncertainty_mm,
        ),
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
