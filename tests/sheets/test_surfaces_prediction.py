"""Runs beside theory read alike on every surface: all of it comes from one sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.cli.text.prediction_text import prediction_text
from rig.inquiry.measured_run import MeasuredRun
from rig.inquiry.prediction import beside_theory
from rig.inquiry.theory import PredictionOptions, theory_for
from rig.model.mounted import Sensor
from rig.sheets.prediction_sheet import (
    prediction_lines,
    prediction_sheet,
    theory_row,
)
from rig.sheets.signs import VERDICT_SIGNS
from tests.sheets.measured import measured_run
from tests.sheets.surfaces import numbers_in, numbers_of


def plates() -> list[MeasuredRun]:
    return [
        measured_run("pvc", operate_mm=3.77, thickness_mm=3.0),
        measured_run("glass", operate_mm=7.2, thickness_mm=4.0),
        measured_run("plywood", operate_mm=4.0, thickness_mm=9.0),
        measured_run("steel", operate_mm=8.0, thickness_mm=1.0),
        measured_run("chalk", operate_mm=6.0, thickness_mm=5.0),
    ]


def without_uncertainty() -> list[MeasuredRun]:
    one = measured_run("pvc", operate_mm=3.77, thickness_mm=3.0)
    bare = replace(
        one.figures.operate,
        expanded_uncertainty=None,
        coverage_factor=None,
        effective_degrees_of_freedom=None,
        why_none="nothing is known of the backlash",
    )
    return [replace(one, figures=replace(one.figures, operate=bare))]


RESULTS = {
    "plates": lambda: beside_theory(plates()),
    "given": lambda: beside_theory(
        plates(), PredictionOptions(properties={"chalk": (9.0, 9.0)})
    ),
    "no uncertainty": lambda: beside_theory(without_uncertainty()),
    "nothing": lambda: beside_theory(()),
}


@pytest.mark.parametrize("name", RESULTS)
def test_every_number_of_terminal_and_screen_is_one_of_the_sheet(name: str) -> None:
    sheet = prediction_sheet(RESULTS[name]())
    known = numbers_of(sheet)

    text = numbers_in(prediction_text(sheet))
    screen = numbers_in("\n".join(prediction_lines(sheet)))

    assert text <= known
    assert screen <= known
    assert len(text) > 5 or name == "nothing"


def test_verdicts_stand_alike_on_terminal_and_screen() -> None:
    sheet = prediction_sheet(RESULTS["plates"]())

    text, lines = prediction_text(sheet), prediction_lines(sheet)

    signs = {row.material: row.sign for row in sheet.rows}
    assert signs == {"pvc": "✓", "glass": "✗", "plywood": "✓"}
    assert set(signs.values()) <= set(VERDICT_SIGNS.values())
    for row, line in zip(sheet.rows, lines, strict=False):
        verdict = f"{row.sign} {row.verdict}"
        assert verdict in line
        assert verdict in next(
            shown for shown in text.splitlines() if shown.startswith(row.material)
        )
    for row in sheet.not_comparable:
        assert f"{row.sentence}." in text
        assert f"{row.sentence}." in lines


def test_what_predict_shows_is_what_the_comparison_shows() -> None:
    one = plates()[0]
    header = one.run.header

    shown = theory_row(theory_for(header.sensor, header.target))

    (row,) = prediction_sheet(beside_theory([one])).rows
    assert shown == row.theory


def test_a_property_that_no_table_gives_can_be_given() -> None:
    text = prediction_text(prediction_sheet(RESULTS["plates"]()))

    assert "no table gives the relative permittivity of chalk" in text
    assert "Give it with --property chalk=LOW:HIGH." in text
    given = prediction_sheet(RESULTS["given"]())
    assert "chalk" in [row.material for row in given.rows]


def test_sensors_of_another_size_get_another_theory() -> None:
    one = plates()[0]
    sensor: Sensor = replace(
        one.run.header.sensor, size_mm=30.0, rated_distance_mm=15.0
    )
    large = theory_row(theory_for(sensor, one.run.header.target))

    small = theory_row(theory_for(one.run.header.sensor, one.run.header.target))
    assert large.interval != small.interval
    assert "s_n 15 mm" in large.curve
