"""What the host knows of a bench: what it makes of the counts, and what it states.

A state takes what was latched and gives what `run_quantities` needs. What a person
would declare stands in `declarations`; the truth is used by the two states alone that
say so, which show what the rest costs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from typing import Final

import numpy as np

from rig.analysis.axis.axis_correction import GapCorrection, gap_corrections
from rig.analysis.axis.axis_test import AxisReadings, axis_test
from rig.analysis.axis.correction_table import table_from_axis_test
from rig.analysis.edges.bench_causes import NO_CAUSES, BenchCauses
from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.touch import (
    backlash_from_contacts,
    datum_from_touches,
    without_probe_delay,
)
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.model.calibration import AxisCalibration
from tests.campaigns.axis_readings import INSTRUMENT_MM, Indicated, read_indicator
from tests.campaigns.benches import Array, Benches
from tests.campaigns.declarations import causes_of, shared_names
from tests.campaigns.edges import SEARCH_MM_S, TOUCH_MM_S, Swept, Touched, late_steps
from tests.campaigns.gauge_blocks import calibrated_by_blocks

_THEN: Final = datetime(2026, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class Read:
    """What the host reads of k runs: counts, and what it states of each bench."""

    operate_steps: Array
    release_steps: Array
    knowns: Knowns


@dataclass(frozen=True, kw_only=True)
class State:
    """A state of knowledge.

    Attributes:
        name: For tables.
        read: Makes of what was latched what the analysis is given.
        shared: Names of the contributions that two runs on one bench have in common
            if each has touches of its own.
        true: Whether it looks at the truth, as no host can.
    """

    name: str
    read: Callable[[Benches, Touched, Swept], Read]
    shared: frozenset[str]
    true: bool = False


def _knowns(
    benches: Benches,
    touched: Touched,
    causes: BenchCauses,
    *,
    search_mm_s: float = SEARCH_MM_S,
) -> Knowns:
    """Take datum, delay and backlash from contacts, as a touch-off does."""
    scale = benches.of("steps_per_mm")
    rows = []
    for steps_per_mm, search, made, broken in zip(
        scale, touched.search[:, 0], touched.closings, touched.openings, strict=True
    ):
        datum, backlash = without_probe_delay(
            datum_from_touches(
                made,
                steps_per_mm=float(steps_per_mm),
                probe_uncertainty_mm=0.0,
                found_at=_THEN,
            ),
            backlash_from_contacts(made, broken, steps_per_mm=float(steps_per_mm)),
            float(search),
            steps_per_mm=float(steps_per_mm),
            search_mm_s=search_mm_s,
            touch_mm_s=TOUCH_MM_S,
        )
        rows.append(
            (
                datum.position_steps,
                datum.standard_uncertainty_mm,
                datum.degrees_of_freedom,
                backlash.value_mm,
                backlash.standard_uncertainty_mm,
                backlash.degrees_of_freedom,
                datum.late_uncertainty_mm or 0.0,
            )
        )
    columns = np.array(rows, dtype=np.float64).T
    # What was stated before benches were declared; the causes stand in its place
    nothing = np.zeros(benches.count)
    return Knowns(
        steps_per_mm=scale,
        axis_mm=nothing,
        datum_steps=columns[0],
        datum_mm=columns[1],
        datum_dof=columns[2],
        probe_mm=nothing,
        backlash_mm=columns[3],
        backlash_uncertainty_mm=columns[4],
        backlash_dof=columns[5],
        late_mm=columns[6],
        bench=causes,
    )


def _declared(
    benches: Benches, touched: Touched, swept: Swept, *, classes: bool
) -> Read:
    causes = causes_of(benches, classes=classes, screw=True)
    return Read(
        operate_steps=swept.operate,
        release_steps=swept.release,
        knowns=_knowns(benches, touched, causes),
    )


def _indicator(benches: Benches, touched: Touched, swept: Swept) -> Read:
    """Nothing declared, and the axis calibrated by an indicator on another day."""
    rng = np.random.default_rng([benches.worlds[0].number, 77])
    indicated = read_indicator(benches.another_day(), rng)
    return _corrected(
        benches, touched, swept, [_calibrated_by_indicator(each) for each in indicated]
    )


def _blocks(benches: Benches, touched: Touched, swept: Swept) -> Read:
    """Nothing declared, and the axis calibrated by gauge blocks on another day."""
    return _corrected(
        benches, touched, swept, [calibrated_by_blocks(each) for each in benches.worlds]
    )


def _corrected(
    benches: Benches,
    touched: Touched,
    swept: Swept,
    calibrations: Sequence[AxisCalibration],
) -> Read:
    """Apply each bench's calibration, as it is done to a run."""
    plain = _declared(benches, touched, swept, classes=False)
    found = [
        _correction(plain, index, calibration)
        for index, calibration in enumerate(calibrations)
    ]
    scale = benches.of("steps_per_mm", plain.operate_steps)
    # A larger gap is a place with fewer steps
    return Read(
        operate_steps=plain.operate_steps
        - scale * np.stack([each.operate_mm for each in found]),
        release_steps=plain.release_steps
        - scale * np.stack([each.release_mm for each in found]),
        knowns=replace(
            plain.knowns,
            axis_mm=np.array([each.axis_mm for each in found]),
            bench=causes_of(
                benches,
                classes=False,
                screw=[not each.in_place_of_screw for each in found],
            ),
        ),
    )


def _correction(plain: Read, index: int, calibration: AxisCalibration) -> GapCorrection:
    """Return what the calibration does to the gaps of one run."""
    knowns = plain.knowns
    scale, datum, backlash = (
        float(np.asarray(each)[index])
        for each in (knowns.steps_per_mm, knowns.datum_steps, knowns.backlash_mm)
    )
    operate, release = plain.operate_steps[index], plain.release_steps[index]
    (found,) = gap_corrections(
        operate_gap_mm(operate, datum_steps=datum, steps_per_mm=scale)[np.newaxis],
        release_gap_mm(
            release, datum_steps=datum, steps_per_mm=scale, backlash_mm=backlash
        )[np.newaxis],
        datum_mm=[datum / scale],
        backlash_mm=[backlash],
        stated_mm=[0.0],
        calibration=calibration,
        day=_THEN.date(),
    )
    return found


def _calibrated_by_indicator(indicated: Indicated) -> AxisCalibration:
    table = table_from_axis_test(
        axis_test(
            AxisReadings(
                targets_mm=indicated.places_mm,
                up_mm=indicated.up_mm,
                down_mm=indicated.down_mm,
            )
        ),
        instrument_uncertainty_mm=INSTRUMENT_MM,
        calibrated_on=_THEN.date(),
        due_on=_THEN.date(),
        certificate="campaign",
        screw_lead_mm=indicated.lead_mm,
    )
    return AxisCalibration(
        calibration_id="campaign",
        rig_id="campaign",
        certificate=table.certificate,
        calibrated_on=table.calibrated_on,
        due_on=table.due_on,
        positions_mm=table.positions_mm,
        corrections_mm=table.corrections_mm,
        standard_uncertainty_mm=table.standard_uncertainty_mm,
        corrections_down_mm=table.corrections_down_mm,
        standard_uncertainty_down_mm=table.standard_uncertainty_down_mm,
        screw_lead_mm=table.screw_lead_mm,
    )


def _screw_known(benches: Benches, touched: Touched, swept: Swept) -> Read:
    """Counts as a screw without error would give them; the rest as assumed."""

    def straight(counts: Array, time_s: Array, half: float) -> Array:
        """Turn counts into those of a perfect screw, from the middle of the step."""
        scale = benches.of("steps_per_mm", counts)
        turned = (counts - half + touched.home_steps) / scale
        return scale * benches.nut_mm(turned, time_s) + half

    return Read(
        operate_steps=straight(swept.operate, swept.time_s, 0.5),
        release_steps=straight(swept.release, swept.time_s, -0.5),
        knowns=_knowns(
            benches,
            replace(
                touched,
                search=straight(touched.search, touched.time_s[:, :1], 0.5),
                closings=straight(touched.closings, touched.time_s, 0.5),
                openings=straight(touched.openings, touched.time_s, -0.5),
            ),
            causes_of(benches, classes=False, screw=False),
        ),
    )


def _all_known(benches: Benches, touched: Touched, swept: Swept) -> Read:
    """Counts as a bench without any error would give them; scatter is left."""

    def straight(counts: Array, time_s: Array, half: float, *, up: bool) -> Array:
        scale = benches.of("steps_per_mm", counts)
        turned = (counts - half + touched.home_steps) / scale
        carriage = benches.carriage_mm(turned, time_s, up=up)
        # From the face, so that tilt and a face that moves are allowed for
        away = (benches.face_at_mm(time_s) - carriage) * np.cos(
            benches.of("tilt_rad", counts)
        )
        return -scale * away + half

    scale = benches.of("steps_per_mm", touched.time_s)
    late = late_steps(benches, TOUCH_MM_S, touched.time_s)
    zero = benches.of("zero_mm", touched.time_s)
    stuck = benches.of("probe_hysteresis_mm", touched.time_s)
    made = straight(touched.closings - late, touched.time_s, 0.5, up=True)
    broken = straight(touched.openings + late, touched.time_s, -0.5, up=False)
    return Read(
        operate_steps=straight(swept.operate, swept.time_s, 0.5, up=True),
        release_steps=straight(swept.release, swept.time_s, -0.5, up=False),
        knowns=_knowns(
            benches,
            replace(
                touched,
                closings=made - scale * zero,
                openings=broken - scale * (zero - stuck),
            ),
            NO_CAUSES,
            search_mm_s=TOUCH_MM_S,  # the delay is known, so none is measured
        ),
    )


_ASSUMED: Final = shared_names(classes=False)
NOTHING_DECLARED = State(
    name="nothing declared",
    read=partial(_declared, classes=False),
    shared=_ASSUMED,
)
CLASSES_DECLARED = State(
    name="classes declared",
    read=partial(_declared, classes=True),
    shared=shared_names(classes=True),
)
SCREW_KNOWN = State(
    name="screw known perfectly, probe as assumed",
    read=_screw_known,
    shared=_ASSUMED,
    true=True,
)
ALL_KNOWN = State(
    name="bench known perfectly", read=_all_known, shared=frozenset(), true=True
)
INDICATOR = State(name="indicator table", read=_indicator, shared=_ASSUMED)
BLOCKS = State(name="gauge blocks", read=_blocks, shared=_ASSUMED)
STATES: Final = (
    NOTHING_DECLARED,
    CLASSES_DECLARED,
    INDICATOR,
    BLOCKS,
    SCREW_KNOWN,
    ALL_KNOWN,
)
