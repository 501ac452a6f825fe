"""Where to clamp a sensor next, so that every phase of the screw is seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rig.analysis.numbers.gaps import FloatArray

WIDEST_GAP = 0.25  # of a turn between neighbouring phases, that need not be filled
_MOST = 4  # places that are advised at once
_EQUAL = 1e-6  # of a turn


def next_place_mm(
    faces_mm: Sequence[float], *, lead_mm: float, lowest_mm: float, highest_mm: float
) -> float | None:
    """Return the place whose phase is farthest from all that were seen.

    Parameters
    ----------
    faces_mm : sequence of float
        Where the face was, mm from home, in the order taken; at least one.
    lead_mm : float
        Lead of the screw, mm.
    lowest_mm, highest_mm : float
        Where the face may be, mm from home.

    Returns
    -------
    float or None
        Within a turn of the first place and toward home from it if there is room; None
        if no place between the limits has a phase that was not seen.

    Notes
    -----
    Of phases equally far, the one that is farthest from the last place: places in the
    order of their phases would pass a drift off as a part of a turn.
    """
    phases, gaps = _phases_and_gaps(faces_mm, lead_mm)
    middles = (phases + gaps / 2.0) % 1.0
    last = faces_mm[-1] / lead_mm
    found = []
    for gap, middle in zip(gaps.tolist(), middles.tolist(), strict=True):
        place = _near(faces_mm[0], middle, lead_mm, lowest_mm, highest_mm)
        if place is not None and gap > _EQUAL:
            from_last = abs((middle - last + 0.5) % 1.0 - 0.5)
            found.append((round(gap / _EQUAL), from_last, place))
    return max(found)[2] if found else None


def advised_places_mm(
    faces_mm: Sequence[float], *, lead_mm: float, lowest_mm: float, highest_mm: float
) -> tuple[float, ...]:
    """Advise places whose phases are unseen.

    Parameters
    ----------
    faces_mm : sequence of float
        Where the face was, mm from home, in the order taken; at least one.
    lead_mm : float
        Lead of the screw, mm.
    lowest_mm, highest_mm : float
        Where the face may be, mm from home.

    Returns
    -------
    tuple of float
        In the order to take them; empty if every quarter of a turn was seen.
    """
    seen = list(faces_mm)
    added: list[float] = []
    while len(added) < _MOST and widest_gap([*seen, *added], lead_mm) > WIDEST_GAP:
        place = next_place_mm(
            [*seen, *added],
            lead_mm=lead_mm,
            lowest_mm=lowest_mm,
            highest_mm=highest_mm,
        )
        if place is None:
            break
        added.append(place)
    return tuple(added)


def widest_gap(faces_mm: Sequence[float], lead_mm: float) -> float:
    """Return the widest part of a turn in which no place lies.

    Parameters
    ----------
    faces_mm : sequence of float
        Where the face was, mm from home; at least one.
    lead_mm : float
        Lead of the screw, mm.
    """
    _, gaps = _phases_and_gaps(faces_mm, lead_mm)
    return float(gaps.max())


def _phases_and_gaps(
    faces_mm: Sequence[float], lead_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Return the phases in their order, turns, and the gap behind each."""
    phases = np.sort(np.asarray(faces_mm, dtype=np.float64) / lead_mm % 1.0)
    return phases, np.diff(np.append(phases, phases[0] + 1.0))


def _near(
    first_mm: float, phase: float, lead_mm: float, lowest_mm: float, highest_mm: float
) -> float | None:
    behind = (first_mm / lead_mm - phase) % 1.0
    for place in (first_mm - behind * lead_mm, first_mm + (1.0 - behind) * lead_mm):
        if lowest_mm <= place <= highest_mm:
            return place
    return None
