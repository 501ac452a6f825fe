"""Gauge blocks on the probe: contacts, what they prove, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from rig.errors import BenchError, InputError
from rig.inquiry.axis_calibration import CalibrationOrder, CalibrationResult
from rig.inquiry.block_calibration import add_block_calibration
from rig.procedures.block_touches import BlockTouches, touch_blocks
from rig.records import Store, Writer

from .conftest import MakeRig, SimRig

pytestmark = pytest.mark.long

BLOCKS = (1.0, 1.3, 1.6, 2.5, 5.0, 7.3, 8.7)


def put_on(rig: SimRig, *, off_mm: float = 0.0):
    """Return the hand that lays blocks on the probe of a simulated rig."""
    bare = rig.controller.bench.machine

    def put(length_mm: float) -> None:
        # Nothing is laid in while the target is near
        assert rig.true_gap_mm() > length_mm + 5.0
        thick_mm = length_mm + (off_mm if length_mm else 0.0)
        bench = rig.controller.bench
        bench.machine = replace(bench.machine, zero_mm=bare.zero_mm - thick_mm)

    return put


def touched(rig: SimRig, **changes: float) -> BlockTouches:
    return touch_blocks(
        rig.mover,
        rig.settings,
        BLOCKS,
        put_on(rig, **changes),
        rig.told.append,
        now=lambda: datetime.now(UTC),
    )


def calibrated(rig: SimRig, store: Store) -> CalibrationResult:
    found = touched(rig)
    order = CalibrationOrder(
        rig_id=rig.mover.traits.rig_id,
        certificate="GB-3",
        calibrated_on=date(2020, 1, 1),
        due_on=date(2100, 1, 1),
        instrument_uncertainty_mm=0.0002,
        screw_lead_mm=2.0,
    )
    return add_block_calibration(
        store,
        order,
        found.bench.axis,
        found.bench.datum,
        found.lengths_mm,
        found.contacts,
        closing_mm=found.closing_mm,
        now=datetime.now(UTC),
    )


def test_blocks_find_the_screw_that_the_rig_has(
    make_rig: MakeRig, store: Store
) -> None:
    rig = make_rig(seed=8, screw_um=10, backlash_um=60)

    fit = calibrated(rig, store).blocks

    assert fit is not None
    assert fit.amplitude.expanded_uncertainty is not None
    assert fit.amplitude.expanded_uncertainty < 0.001
    assert abs(fit.amplitude.value - 0.010) < fit.amplitude.expanded_uncertainty
    assert fit.scale_error.expanded_uncertainty is not None
    assert abs(fit.scale_error.value) < fit.scale_error.expanded_uncertainty


def test_after_blocks_a_run_on_a_bad_screw_is_covered(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    over_u = []
    for seed in range(1, 15):
        rig = make_rig(seed=seed, screw_um=10, backlash_um=60)
        calibrated(rig, store)
        figures = rig.run(rig.touch_off(), rig.order(sweeps=10), writer).figures
        truth = rig.truth()
        on_mm, off_mm = truth.observed_operate_mm, truth.observed_release_mm
        assert on_mm is not None
        assert off_mm is not None
        assert not any("calibration" in said for said in figures.warnings)
        over_u.append(
            [
                (figure.value - true_mm) / (figure.expanded_uncertainty or 0.0)
                for figure, true_mm in (
                    (figures.operate, on_mm),
                    (figures.release, off_mm),
                    (figures.differential_travel, off_mm - on_mm),
                )
            ]
        )

    # 95 % of each is promised: more than four of fourteen outside have odds of 1 in
    # 2000
    assert (np.abs(over_u) > 1.0).sum(axis=0).max() <= 4
    assert np.abs(over_u).max() < 2.5


def test_a_block_of_another_length_is_noticed(make_rig: MakeRig) -> None:
    rig = make_rig(seed=8)

    with pytest.raises(BenchError, match=r"did not close within 0\.5 mm of a block"):
        touched(rig, off_mm=-0.7)


def test_a_face_that_moves_meanwhile_proves_nothing(make_rig: MakeRig) -> None:
    rig = make_rig(seed=8)
    put = put_on(rig)

    def put_and_push(length_mm: float) -> None:
        put(length_mm)
        if length_mm == 5.0:
            bench = rig.controller.bench
            bench.machine = replace(bench.machine, face_mm=bench.machine.face_mm + 0.05)

    with pytest.raises(BenchError, match="the face moved while the blocks"):
        touch_blocks(
            rig.mover,
            rig.settings,
            BLOCKS,
            put_and_push,
            rig.told.append,
            now=lambda: datetime.now(UTC),
        )


@pytest.mark.parametrize("blocks", [(0.0, 1.0), (1.0, 1.0), (1.0, 45.0)])
def test_lengths_that_cannot_be_are_refused(
    make_rig: MakeRig, blocks: tuple[float, ...]
) -> None:
    rig = make_rig(seed=8)

    with pytest.raises(InputError, match="block"):
        touch_blocks(
            rig.mover,
            rig.settings,
            blocks,
            put_on(rig),
            rig.told.append,
            now=lambda: datetime.now(UTC),
        )
