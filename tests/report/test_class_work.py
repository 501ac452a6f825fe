"""The work of a class: a sheet for each person, with the rig's figures beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from rig.errors import InputError
from rig.inquiry.class_work import class_work
from rig.inquiry.lesson import READ, Subject, TypedReading, enter_typed
from rig.records import Store, open_records
from rig.report.class_work_page import class_work_page
from tests.tui.lessons import AT, LEVEL, PVC, teach, write_down

LATER = AT + timedelta(hours=1)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "records.sqlite") as store:
        teach(store)
        write_down(store)
        enter_typed(
            store,
            [TypedReading("<b>Zoe", 3.5, 0.5)],
            subject=Subject(sensor=LEVEL, target=PVC),
            figure=READ,
            at=LATER,
        )
        yield store


def test_everybody_has_a_sheet_with_predictions_readings_and_the_rig(
    store: Store,
) -> None:
    found = class_work(store, sensor="level-18")

    assert [one.person for one in found] == ["<b>Zoe", "ada", "bo", "cy"]
    ada, bo, cy = found[1:]
    (pair,) = ada.pairs
    assert (pair.target, pair.predicted_mm, pair.read_mm) == ("steel", 7.0, (7.7, 8.1))
    # As it came, not as the trimmer was turned later
    assert pair.rig.figures.operate.value == pytest.approx(8.0, abs=0.05)
    assert bo.pairs[0].beside.biased
    assert cy.pairs[0].beside is None


def test_the_page_has_a_section_for_each_and_nothing_of_it_runs(store: Store) -> None:
    page = class_work_page(class_work(store, sensor="level-18"), generated_at=LATER)

    assert page.count('<section class="sheet"') == 4
    assert "&lt;b&gt;Zoe" in page
    assert "<b>Zoe" not in page
    assert "<script" not in page
    assert "SIMULATED" in page
    assert "7 mm" in page
    assert re.search(r"bo reads 0\.50 mm too far", page)
    assert page == class_work_page(
        class_work(store, sensor="level-18"), generated_at=LATER
    )


def test_one_person_alone_and_one_class_alone(store: Store) -> None:
    assert len(class_work(store, sensor="level-18", person="bo")) == 1
    today = class_work(store, sensor="level-18", since=LATER)
    assert [one.person for one in today] == ["<b>Zoe"]


def test_who_did_nothing_is_said(store: Store) -> None:
    with pytest.raises(InputError, match="'dee' has nothing of"):
        class_work(store, sensor="level-18", person="dee")
    with pytest.raises(InputError, match="no prediction or reading of"):
        class_work(store, sensor="gate-8")
