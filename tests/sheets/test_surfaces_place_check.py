"""A check of the screw reads alike on every surface: all of it comes from its sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from rig.cli.text.calibration_text import calibrations_text
from rig.cli.text.place_check_text import place_check_text
from rig.inquiry.axis_calibration import calibrations
from rig.inquiry.place_check import PlaceCheckResult, newest_place_checks
from rig.model.bench_declaration import ValueSource
from rig.records import Store, open_records
from rig.records.place_checks import (
    HeldAgainst,
    PlaceCheckBook,
    PlaceCheckEntry,
    PlaceReading,
)
from rig.sheets.calibration_sheet import calibrations_sheet
from rig.sheets.place_check_sheet import place_check_sheet
from tests.sheets.surfaces import numbers_in, numbers_of

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "measured.sqlite") as found:
        yield found


def entry(
    places: int = 8, *, amplitude_um: float = 5.0, bound_um: float = 10.0
) -> PlaceCheckEntry:
    """An invented screw of 2 mm lead, and a little noise."""
    rng = np.random.default_rng(4)
    turns = np.array([0, 4, 2, 6, 1, 5, 3, 7][:places]) / 8.0
    readings = []
    for index, turn in enumerate(turns.tolist()):
        datum = 30.0 - 2.0 * turn

        def off(x: float) -> float:
            return 1e-3 * amplitude_um * float(np.sin(np.pi * x + 0.7))

        gaps = [g - (off(datum) - off(datum - g)) for g in (8.3, 9.7)]
        noisy = [g + 3e-4 * rng.normal() for g in gaps]
        readings.append(
            PlaceReading(
                run_id=f"20261125-1000{index:02d}-000-0001",
                closing_mm=datum,
                opening_mm=datum,
                operate_mm=noisy[0],
                release_mm=noisy[1],
                operate_variance_mm2=1e-7,
                covariance_mm2=0.0,
                release_variance_mm2=1e-7,
                time_s=240.0 * index,
                operate_correction_mm=None,
                release_correction_mm=None,
            )
        )
    return PlaceCheckEntry(
        check_id="20261125-120000-000-00cc",
        rig_id="bench-2",
        simulated=False,
        sensor="level-18",
        target="steel",
        lead_mm=2.0,
        readings=tuple(readings),
        degrees_of_freedom=40.0,
        held_against=HeldAgainst(
            bound_um=bound_um,
            bound_source=ValueSource.MAKER,
            certificate="",
            calibration_uncertainty_mm=0.0,
            lowest_mm=13.7,
            highest_mm=39.5,
        ),
        entered_at=NOW,
    )


def result(store: Store, given: PlaceCheckEntry) -> PlaceCheckResult:
    PlaceCheckBook(store).add(given)
    (found,) = newest_place_checks(store)
    return found


def test_every_number_of_the_text_is_one_of_the_sheet(store: Store) -> None:
    sheet = place_check_sheet(result(store, entry()))
    text = place_check_text(sheet)

    assert numbers_in(text) <= numbers_of(sheet)
    assert len(numbers_in(text)) > 30
    for name, value in sheet.figures:
        assert any(name in line and value in line for line in text.splitlines())


def test_the_list_of_calibrations_shows_the_newest_check_of_a_rig(store: Store) -> None:
    found = result(store, entry())
    later = replace(entry(amplitude_um=7.0), check_id="20261125-130000-000-00dd")
    PlaceCheckBook(store).add(replace(later, entered_at=NOW.replace(hour=13)))

    text = calibrations_text(calibrations_sheet(calibrations(store, NOW.date())))

    assert "check 20261125-130000-000-00dd of the screw of bench-2" in text
    assert found.check_id not in text


def test_a_verdict_has_its_sign_its_words_and_what_was_declared(store: Store) -> None:
    signs = []
    for number, bound_um in enumerate((1.0, 5.1, 9.0)):
        given = replace(entry(bound_um=bound_um), check_id=f"2026112{number}-1")
        given = replace(given, entered_at=NOW.replace(minute=number))
        signs.append(place_check_sheet(result(store, given)).verdict)

    assert signs == [
        "✗ The periodic error of the screw exceeds what is declared (1 µm, maker).",
        "? The periodic error of the screw cannot be told from what is declared"
        " (5.1 µm, maker).",
        "✓ The periodic error of the screw agrees with what is declared (9 µm, maker).",
    ]


def test_what_nobody_declared_is_called_assumed(store: Store) -> None:
    given = entry()
    against = replace(given.held_against, bound_source=ValueSource.ASSUMED)

    sheet = place_check_sheet(result(store, replace(given, held_against=against)))

    assert sheet.verdict.endswith("agrees with what is assumed (10 µm).")


def test_a_simulated_check_says_so(store: Store) -> None:
    sheet = place_check_sheet(result(store, replace(entry(), simulated=True)))

    assert "SIMULATED" in place_check_text(sheet)


def test_phases_that_are_unseen_are_where_to_clamp_next(store: Store) -> None:
    given = entry()
    # Six phases of eight: those around half a turn are missing
    few = tuple(r for r in given.readings if r.closing_mm not in (29.0, 28.75))

    found = result(store, replace(given, readings=few))

    sheet = place_check_sheet(found)
    assert found.advice_mm == pytest.approx((28.875,))
    assert any("clamp the face near 28.88 mm next" in said for said in sheet.statements)
    assert result_of_all(store).advice_mm == ()


def result_of_all(store: Store) -> PlaceCheckResult:
    given = replace(entry(), check_id="20261125-140000-000-00ee", rig_id="bench-3")
    PlaceCheckBook(store).add(given)
    return newest_place_checks(store)[-1]
