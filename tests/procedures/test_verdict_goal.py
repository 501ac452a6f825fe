"""A run for its verdict alone ends once that is clear, and says so on record."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.early_verdict import widened
from rig.errors import InputError
from rig.inquiry.recorded_run import recorded_run
from rig.model.mounted import DataSheetLimit
from rig.procedures.carry_out_run import RunResult, touch_off_and_run
from rig.records import Store, Writer
from rig.sheets.run_sheet import run_sheet

from .conftest import MakeRig, SimRig


def for_verdict(rig: SimRig, writer: Writer, **changes: Any) -> RunResult:
    order = replace(rig.order(sweeps=10), for_verdict=True, **changes)
    return touch_off_and_run(order, rig.context(writer))


def test_a_clear_part_takes_the_fewest_sweeps_and_the_record_says_why(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    result = for_verdict(make_rig(seed=5), writer)

    # Fewer at two speeds have no uncertainty
    assert len(result.run.sweeps) == 5
    (remark,) = result.remarks
    assert "ended after 5 of 10 sweeps: the part conforms" in remark
    found = recorded_run(store, result.run.header.run_id)
    assert found.ending.sentence == remark
    assert remark in run_sheet(found).attempts
    assert found.standard is not None
    assert found.standard.verdicts["s_r"].decision is Decision.CONFORMS
    assert any("not those of a whole run" in s for s in found.standard.statements)


def test_a_part_that_is_far_off_is_rejected_as_soon(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    rig.controller.turn_trimmer(2.0)

    result = for_verdict(rig, writer)

    assert len(result.run.sweeps) == 5
    assert "does not conform" in result.remarks[0]


def test_a_part_near_a_limit_takes_all_sweeps(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=5)
    operate_mm = rig.truth().observed_operate_mm
    assert operate_mm is not None
    sensor = rig.order().sensor
    # A third of the uncertainty inside its lower limit
    lower = (operate_mm - 0.005) / sensor.rated_distance_mm
    limit = DataSheetLimit(symbol="s_r", lower=lower, upper=1.1)
    near = replace(sensor, data_sheet_limits=(limit,))

    result = for_verdict(rig, writer, sensor=near)

    assert len(result.run.sweeps) == 10
    assert result.remarks == ()
    found = recorded_run(store, result.run.header.run_id)
    assert found.ending.sentence == ""
    assert found.standard is not None
    assert not any("whole run" in s for s in found.standard.statements)


def test_a_target_that_no_limit_is_for_takes_all_sweeps(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5, target="pvc")

    result = for_verdict(rig, writer, target=rig.catalogue.target("pvc"))

    assert len(result.run.sweeps) == 10


def test_an_early_interval_is_wider_than_that_of_the_last_sweep(
    make_rig: MakeRig, writer: Writer
) -> None:
    figures = for_verdict(make_rig(seed=5), writer).figures

    wide = widened(figures)

    # 3.89 over 1.96 with no end of degrees of freedom (tables of the normal
    # distribution); more with few
    for name in ("operate", "differential_travel_percent"):
        before, after = getattr(figures, name), getattr(wide, name)
        ratio = after.expanded_uncertainty / before.expanded_uncertainty
        assert ratio > 3.89 / 1.96
        assert after.value == before.value


def test_one_thing_alone_ends_a_run(make_rig: MakeRig) -> None:
    order = make_rig(seed=5).order(sweeps=10)

    with pytest.raises(InputError, match="give one"):
        replace(order, for_verdict=True, until_mm=0.01)
