"""Which contributions two runs have in common."""

from __future__ import annotations

from typing import Final

from rig.analysis.edges.bench_terms import EXPANSION, causes_of_rig, common_names
from rig.model.mounted import BacklashSource
from rig.model.sweeps import Conditions

TOUCH_OFF = "touch-off scatter"
TOUCH_PROBE = "touch probe"
BACKLASH = "backlash"
TWICE = ", in the operate point"  # ends the name of what enters a share once more
_ONE_PLACE_MM: Final = 0.05


def shared_contributions(first: Conditions, second: Conditions) -> frozenset[str]:
    """Names of the contributions that two runs have in common.

    Parameters
    ----------
    first, second : Conditions
        Conditions of the two runs.

    Returns
    -------
    frozenset of str
        Names as they stand in the budgets of the operate and release points.

    Notes
    -----
    One rig has one touch probe, so its error is the same in both runs; the scatter of
    the touch-off is common if the datum is the same one. What is declared of the bench
    is common where both runs rest on the same knowledge: each cause enters either run
    with its own sensitivity, so a periodic error cancels as far as the places do. Of a
    screw of unknown lead the error at the datum is common to datums within 0.05 mm: at
    a lead of 1 mm or more, 95 % of it. The error that a calibration of the axis leaves
    counts as independent: the two points lie at different places.
    """
    shared = set()
    if first.rig_id == second.rig_id:
        shared.add(TOUCH_PROBE)
        if first.datum == second.datum:
            shared.add(TOUCH_OFF)
        if first.backlash == second.backlash:
            shared.add(BACKLASH)
        if first.bench is not None and first.bench == second.bench:
            shared.update(
                common_names(
                    first.bench,
                    one_datum=first.datum == second.datum,
                    one_place=_apart_mm(first, second) <= _ONE_PLACE_MM,
                )
            )
    return frozenset(shared)


def causes_in_common(first: Conditions, second: Conditions) -> frozenset[str]:
    """Causes that two runs of one part have in common, whatever is known of them.

    Parameters
    ----------
    first, second : Conditions
        Conditions of the two runs.

    Returns
    -------
    frozenset of str
        Names as they stand in the budgets, without the source.

    Notes
    -----
    As `shared_contributions`, but what was declared between the two runs moves
    nothing: an offset of the touch probe is the same before and after somebody states
    a bound for it. Temperatures of two moments are common only under one datum, and so
    is a backlash that the touch probe found: every touch-off finds it anew.
    """
    if first.rig_id != second.rig_id:
        return frozenset()
    one_datum = first.datum == second.datum
    one_place = _apart_mm(first, second) <= _ONE_PLACE_MM
    found = {TOUCH_PROBE, *causes_of_rig(one_datum=one_datum, one_place=one_place)}
    if one_datum:
        found.add(TOUCH_OFF)
    else:
        found.discard(EXPANSION)
    found_anew = first.backlash.source is BacklashSource.PROBE and not one_datum
    if first.backlash == second.backlash and not found_anew:
        found.add(BACKLASH)
    return frozenset(found)


def _apart_mm(first: Conditions, second: Conditions) -> float:
    places = [
        each.datum.position_steps / each.axis.steps_per_mm for each in (first, second)
    ]
    return abs(places[0] - places[1])
