"""Bad input to the statistics gets one clear sentence: what, where, what is right."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import numpy as np
import pytest

from rig.analysis.axis.axis_test import AxisReadings, axis_test, readings_from_rows
from rig.analysis.axis.correction_table import CorrectionTable, correct_gaps
from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.batch.capability import capability
from rig.analysis.batch.classes import sort_into_classes
from rig.analysis.batch.compare import compare_batches
from rig.analysis.batch.control_charts import individuals_chart, xbar_range_chart
from rig.analysis.batch.control_constants import chart_constants
from rig.analysis.batch.normal_plot import normal_plot
from rig.analysis.batch.tolerance import tolerance_interval, two_sided_factor
from rig.analysis.limits.limit_table import limits_for
from rig.analysis.limits.many_decisions import decide
from rig.analysis.limits.verdict import Limits, verdict
from rig.analysis.numbers.given import column
from rig.analysis.numbers.intervals import sd_interval
from rig.analysis.numbers.one_way import one_way
from rig.analysis.numbers.ratio import ratio
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.run.repeat_accuracy import (
    eight_hour_test,
    range_of_readings,
    share_of_distance,
)
from rig.analysis.standard.iec_60947_5_2 import standard_target, worst_case_release_mm
from rig.analysis.standard.switching_delay import delay_verdict
from rig.analysis.study.study_layout import (
    FilledRow,
    SheetRow,
)
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import Principle, Sensor

MM = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")
SENSOR = Sensor(
    name="sensor A",
    principle=Principle.CAPACITIVE,
    size_mm=18.0,
    rated_distance_mm=8.0,
)
TABLE = CorrectionTable(
    positions_mm=(0.0, 10.0),
    corrections_mm=(0.0, 0.001),
    standard_uncertainty_mm=(0.001, 0.001),
    calibrated_on=date(2026, 1, 1),
    due_on=date(2027, 1, 1),
    certificate="K 1",
)


def fig(value: float = 8.0, unit: str = "mm", u: float = 0.001) -> Figure:
    line = Contribution(
        name="zero", evaluation=Evaluation.TYPE_B, standard_uncertainty=u, unit=unit
    )
    return figure(value, unit, [line], n=10, standard_deviation=0.01)


def row(
    part: str, appraiser: str, trial: int, reading: object, unit: str = "mm"
) -> FilledRow:
    return FilledRow(
        row=SheetRow(order=1, trial=trial, appraiser=appraiser, part=part),
        reading=reading,
        unit=unit,
    )


# What is wrong, words that the sentence has to hold
CASES: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    # Cells
    "NaN": (lambda: column("gaps", [1.0, float("nan")]), ("gaps", "2", "empty")),
    "infinite": (lambda: column("gaps", [float("inf")]), ("gaps", "1", "finite")),
    "empty cell": (lambda: column("gaps", ["1", "", "3"]), ("gaps", "2", "empty")),
    "None": (lambda: column("gaps", [1.0, None]), ("gaps", "2", "empty")),
    "text": (lambda: column("gaps", [1.0, "far"]), ("gaps", "2", "'far'")),
    "two readings": (lambda: column("gaps", ["4,012"]), ("'4,012'", "or as 4.012")),
    "unit in the cell": (lambda: column("gaps", ["4 mm"]), ("'4 mm'",)),
    "no cells": (lambda: column("gaps", [], at_least=2), ("gaps", "none", "2")),
    # One part, one trial
    "one part, tolerance": (lambda: tolerance_interval([8.0]), ("1", "2")),
    "factor of one part": (lambda: two_sided_factor(1, 0.9, 0.9), ("1 part",)),
    "content of 2": (lambda: two_sided_factor(5, 2.0, 0.9), ("content", "2")),
    "one part, capability": (lambda: capability([8.0], MM), ("1 given", "2")),
    "all alike, capability": (lambda: capability([8.0, 8.0], MM), ("same",)),
    "one part, batch": (
        lambda: summarise_parts("s_r", ["a"], [8.0], unit="mm"),
        ("1 part", "batch"),
    ),
    "part twice": (
        lambda: summarise_parts("s_r", ["a", "a"], [8.0, 8.1], unit="mm"),
        ("'a'", "twice"),
    ),
    "batch, empty cell": (
        lambda: summarise_parts("s_r", ["a", "b"], ["8.0", ""], unit="mm"),
        ("s_r", "reading 2", "empty"),
    ),
    "batch, mixed units": (
        lambda: summarise_parts("s_r", ["a", "b"], [8, 9], unit="µm", limits=MM),
        ("µm", "mm"),
    ),
    "batch, too few values": (
        lambda: summarise_parts("s_r", ["a", "b"], [8.0], unit="mm"),
        ("1", "2 parts"),
    ),
    "one batch": (lambda: compare_batches({"a": [1.0, 2.0]}), ("1 batch",)),
    "batch of one part": (
        lambda: compare_batches({"a": [1.0, 2.0], "b": [1.0]}),
        ("b:", "1 given"),
    ),
    "batch without spread": (
        lambda: compare_batches({"a": [1.0, 1.0], "b": [1.0, 2.0]}),
        ("same",),
    ),
    "no degrees of freedom": (lambda: sd_interval(1.0, 0), ("degree",)),
    "two values, normal plot": (lambda: normal_plot([1.0, 2.0]), ("2 given", "3")),
    "one group": (lambda: one_way([[1.0, 2.0]]), ("two",)),
    "group of one": (lambda: one_way([[1.0, 2.0], [1.0]]), ("group 2",)),
    "two points, chart": (lambda: individuals_chart([1.0, 2.0]), ("2 given", "3")),
    "subgroups of one": (lambda: xbar_range_chart([[1.0], [2.0]]), ("1 readings",)),
    "constants of one": (lambda: chart_constants(1), ("1 reading",)),
    # Classes
    "bounds fall": (
        lambda: sort_into_classes(
            ["a"], [1.0], [0.1], bounds=[2.0, 1.0], names=["x", "y", "z"]
        ),
        ("rise",),
    ),
    "a class too few": (
        lambda: sort_into_classes(["a"], [1.0], [0.1], bounds=[2.0], names=["x"]),
        ("1", "2 classes"),
    ),
    # Verdict, ratio, standard
    "mixed units, verdict": (lambda: verdict(fig(unit="µm"), MM), ("µm", "mm")),
    "negative uncertainty": (lambda: decide([8.0], [-1.0], MM), ("below 0",)),
    "limits exchanged": (
        lambda: Limits(lower=2.0, upper=1.0, unit="mm", source="x"),
        ("not below",),
    ),
    "no limit at all": (
        lambda: Limits(lower=-np.inf, upper=np.inf, unit="mm", source="x"),
        ("neither",),
    ),
    "mixed units, ratio": (lambda: ratio(fig(), fig(unit="µm")), ("mm", "µm")),
    "ratio to 0": (lambda: ratio(fig(), fig(0.0)), ("0 mm",)),
    "not really shared": (
        lambda: ratio(fig(), fig(u=0.002), shared=["zero"]),
        ("'zero'", "0.001", "0.002"),
    ),
    "unknown symbol": (lambda: limits_for(SENSOR, {"s_x": (1, 2)}), ("'s_x'",)),
    "data sheet in mm": (lambda: limits_for(SENSOR, {"s_r": (-1.0, None)}), ("s_r",)),
    "sensor of no size": (
        lambda: standard_target(
            Sensor(
                name="sensor B",
                principle=Principle.INDUCTIVE,
                size_mm=0.0,
                rated_distance_mm=2.0,
            )
        ),
        ("sensor B", "above 0"),
    ),
    "release of a capacitive one": (
        lambda: worst_case_release_mm(SENSOR),
        ("capacitive",),
    ),
    # Repeat accuracy
    "s_r in µm": (
        lambda: share_of_distance(fig(), fig(unit="µm")),
        ("µm",),
    ),
    "a step of no length": (
        lambda: range_of_readings([8.0, 8.1, 8.2], step_mm=0.0),
        ("0 mm",),
    ),
    "times fall": (
        lambda: eight_hour_test(
            [0.0, 4.0, 3.0], [[8.0], [8.0], [8.1]], fig(), step_mm=0.001
        ),
        ("entry 3",),
    ),
    "a time without a row": (
        lambda: eight_hour_test([0.0, 8.0], [[8.0]], fig(), step_mm=0.001),
        ("1", "2 times"),
    ),
    # Axis and correction
    "unknown direction": (
        lambda: readings_from_rows([(0.0, "left", 0.001)]),
        ("row 1", "'left'"),
    ),
    "text among deviations": (
        lambda: readings_from_rows([(0.0, "up", "ok")]),
        ("row 1", "'ok'"),
    ),
    "unbalanced axis": (
        lambda: readings_from_rows([(0, "up", 1), (0, "up", 1), (0, "down", 1)]),
        ("0 mm, down", "1 readings", "2"),
    ),
    "one run": (
        lambda: axis_test(
            AxisReadings(
                targets_mm=np.array([0.0, 1.0]),
                up_mm=np.zeros((2, 1)),
                down_mm=np.zeros((2, 1)),
            )
        ),
        ("one run",),
    ),
    "outside the calibration": (
        lambda: correct_gaps([[-1.0]], [10.0], TABLE),
        ("11 mm", "0 to 10"),
    ),
    "due before it was made": (
        lambda: CorrectionTable(
            positions_mm=(0.0, 1.0),
            corrections_mm=(0.0, 0.0),
            standard_uncertainty_mm=(0.0, 0.0),
            calibrated_on=date(2026, 2, 1),
            due_on=date(2026, 1, 1),
            certificate="K 2",
        ),
        ("2026-01-01", "2026-02-01"),
    ),
    # Delay
    "no frequency": (lambda: delay_verdict(fig(1.0, "ms"), 0.0), ("0 Hz",)),
}


@pytest.mark.parametrize("name", CASES)
def test_one_sentence_says_what_and_where(name: str) -> None:
    call, words = CASES[name]

    with pytest.raises(InputError) as caught:
        call()

    sentence = str(caught.value)
    assert "\n" not in sentence
    assert len(sentence) < 200
    assert caught.value.hint
    for word in words:
        assert word in sentence
