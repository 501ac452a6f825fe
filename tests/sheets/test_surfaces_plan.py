"""A plan reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from rig.cli.text.plan_text import plan_text
from rig.inquiry.plan import PlannedFigures, PlanResult
from rig.model.mounted import Target
from rig.procedures.rounds import visits
from rig.sheets.plan_sheet import plan_sheet
from rig.tui.technician.plan_state import PlanStanding
from rig.tui.widgets.pair_table import _HEADS, _cells
from rig.version import SOFTWARE_VERSION
from tests.report.kinds import PLATE, page_of_plan, plan_of_targets
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page and the table, not of the plan: "Uncertainty (95 %)", "SHA-256", version
LAYOUT = {"95", SOFTWARE_VERSION}


def without_part() -> PlanResult:
    result = plan_of_targets()
    items = tuple(
        replace(
            one,
            progress=replace(one.progress, item=replace(one.progress.item, part="")),
        )
        for one in result.items
    )
    return replace(result, items=items)


def series() -> PlanResult:
    plates = [Target(name=f"pvc {k}", material="pvc", thickness_mm=k) for k in (1, 2)]
    return plan_of_targets((PLATE, *plates, plates[0]))


RESULTS: dict[str, Callable[[], PlanResult]] = {
    "targets": plan_of_targets,
    "without part": without_part,
    "series": series,
}


def on_screen(result: PlanResult) -> str:
    """Return what the terminal UI says of a plan, but for counts that go on."""
    items: tuple[PlannedFigures, ...] = result.items
    standing = PlanStanding(
        title=result.entry.title,
        entry=result.entry,
        items=items,
        order=visits(result.entry.items, ()),
    )
    cells = [_cells(row) for row in standing.rows()]
    sweeps = _HEADS.index("sweeps")
    shown = [text for row in cells for place, text in enumerate(row) if place != sweeps]
    return "\n".join([*shown, *(standing.detail(i) for i in range(len(items)))])


@pytest.mark.parametrize("name", RESULTS)
def test_every_number_that_is_shown_is_one_of_the_sheet(name: str) -> None:
    result = RESULTS[name]()
    sheet = plan_sheet(result)
    known = numbers_of(sheet) | {row.readings for row in sheet.rows} | LAYOUT

    surfaces = (plan_text(sheet), shown_text(page_of_plan(result)), on_screen(result))
    for shown in surfaces:
        numbers = numbers_in(shown)
        assert len(numbers) > 5
        assert numbers <= known, numbers - known


@pytest.mark.parametrize("name", RESULTS)
def test_figures_stand_alike_in_text_page_and_screen(name: str) -> None:
    result = RESULTS[name]()
    sheet = plan_sheet(result)
    surfaces = (plan_text(sheet), shown_text(page_of_plan(result)), on_screen(result))

    for row in sheet.rows[:-1]:
        assert row.operate is not None
        value = f"{row.operate.value} ± {row.operate.expanded_uncertainty}"
        assert all(value in shown for shown in surfaces)
    for row in sheet.rows:
        if row.factor is not None:
            value = f"{row.factor.value} ± {row.factor.expanded_uncertainty}"
            assert all(value in shown for shown in surfaces[:2])


def test_verdicts_of_the_page_are_those_of_the_sheet() -> None:
    result = plan_of_targets()
    (of_plate,) = plan_sheet(result).verdicts
    page = shown_text(page_of_plan(result))

    assert of_plate.table.rows
    for row in of_plate.table.rows:
        assert row.decision in page
        assert row.sign in page
