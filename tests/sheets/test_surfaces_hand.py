"""Readings by hand read alike on every surface: all of it comes from one sheet."""

from __future__ import annotations

import pytest

from rig.cli.text.hand_text import hand_text
from rig.inquiry.hand import hand_beside
from rig.inquiry.measured_run import MeasuredRun
from rig.sheets.hand_sheet import hand_lines, hand_sheet
from rig.tui.instructor.lesson_pictures import hand_plot
from tests.sheets.measured import measured_run
from tests.sheets.surfaces import numbers_in, numbers_of

READINGS = {
    "two people": {"Ann": (4.51, 4.62, 4.48, 4.55), "Bob": (3.98, 4.03)},
    "one person": {"Ann": (4.51, 4.62)},
    "equal readings": {"Ann": (4.5, 4.5), "Bob": (3.6, 3.6, 3.6)},
    "one read once": {"Ann": (4.51, 4.62), "Bob": (3.98,)},
}


@pytest.fixture(scope="module")
def measured() -> MeasuredRun:
    return measured_run("steel", operate_mm=4.0)


@pytest.mark.parametrize("name", READINGS)
def test_every_number_of_terminal_and_screen_is_one_of_the_sheet(
    measured: MeasuredRun, name: str
) -> None:
    sheet = hand_sheet(hand_beside(READINGS[name], measured))
    known = numbers_of(sheet)

    text = numbers_in(hand_text(sheet))
    screen = numbers_in("\n".join(hand_lines(sheet)))

    assert text <= known
    assert screen <= known
    assert len(screen) > 4


def test_the_picture_shows_means_and_spreads_of_the_sheet(
    measured: MeasuredRun,
) -> None:
    sheet = hand_sheet(hand_beside(READINGS["two people"], measured))

    *people, rig = hand_plot(READINGS["two people"], measured, sheet).groups

    assert [(one.shown_mean, one.shown_sd) for one in people] == [
        (row.mean, row.sd) for row in sheet.rows
    ]
    assert (rig.shown_mean, rig.shown_sd) == (
        sheet.figure.value,
        sheet.figure.standard_deviation,
    )


def test_every_estimate_has_its_interval_and_p_its_condition(
    measured: MeasuredRun,
) -> None:
    sheet = hand_sheet(hand_beside(READINGS["two people"], measured))

    text = hand_text(sheet)

    for row in sheet.rows:
        for words in (row.mean_interval, row.sd_interval, row.bias):
            assert words in text
    assert "If people did not differ, an F this large would come up with p" in text
    assert "if they did not differ" in "\n".join(hand_lines(sheet))


def test_who_read_once_is_left_out_by_name(measured: MeasuredRun) -> None:
    sheet = hand_sheet(hand_beside(READINGS["one read once"], measured))

    assert [row.person for row in sheet.rows] == ["Ann"]
    assert "Note: Bob read once: two readings show a spread." in hand_text(sheet)


def test_equal_readings_have_no_digits_that_nobody_read(measured: MeasuredRun) -> None:
    sheet = hand_sheet(hand_beside(READINGS["equal readings"], measured))

    assert [(row.mean, row.sd) for row in sheet.rows] == [
        ("4.500", "0.000"),
        ("3.600", "0.000"),
    ]
    # All lie on steps of 0.1 mm, which nobody stated
    assert "assumed to be 0.1 mm" in hand_text(sheet)
    assert all(" to 0." in row.sd_interval for row in sheet.rows)
    assert all(len(row.sd_interval) < 20 for row in sheet.rows)
    assert "F = ∞" in sheet.between_people
