from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from rig.model.mounted import OutputKind, Principle, Sensor
from rig.model.sweeps import Timetable
from rig.records.run_pages import RunPage, page_bounds, run_page

ON_SERVER_TOO = True

OPENING = Sensor(
    name="level 18",
    principle=Principle.CAPACITIVE,
    size_mm=18.0,
    rated_distance_mm=8.0,
    output=OutputKind.NORMALLY_OPEN,
)


def run_pages(store, *, runs_at_once: int = 2000) -> list[RunPage]:
    bounds = page_bounds(store, runs_at_once=runs_at_once)
    return [run_page(store, *ends) for ends in bounds]


@pytest.fixture
def filled(writer, samples):
    """Ten plain runs and one each of those that have to be read whole."""
    plain, others = [], []
    for number in range(10):
        head = samples.header(number, sensor=OPENING)
        writer.begin_run(head)
        for index in range(3 + number % 2):
            writer.add_sweep(head.run_id, samples.sweep(index))
        void = replace(samples.sweep(8, edges=number), void="an edge too many")
        writer.add_sweep(head.run_id, void)
        writer.end_run(head.run_id, ended_at=samples.NOON + timedelta(hours=1))
        plain.append(head.run_id)
    kinds = ("void", "open", "empty", "again", "chatter", "inverted", "timetable")
    for number, kind in enumerate(kinds, start=100):
        timetable = Timetable(hours=8.0, readings=1) if kind == "timetable" else None
        head = samples.header(number, sensor=OPENING, timetable=timetable)
        writer.begin_run(head)
        if kind == "again":
            writer.add_conditions(head.run_id, 1, samples.conditions(note="again"))
        sweep = samples.sweep(0, edges=4 if kind == "chatter" else 2)
        if kind == "inverted":
            edges = tuple(replace(e, level=not e.level) for e in sweep.edges)
            sweep = replace(sweep, edges=edges, operate=edges[0], release=edges[1])
        if kind != "empty":
            writer.add_sweep(head.run_id, sweep)
        if kind != "open":
            why = "stopped" if kind == "void" else ""
            writer.end_run(head.run_id, ended_at=samples.NOON, void=why)
        others.append(head.run_id)
    return plain, others


@pytest.mark.parametrize("runs_at_once", [1, 4, 1000])
def test_every_run_is_on_one_page(store, filled, runs_at_once) -> None:
    plain, others = filled

    pages = run_pages(store, runs_at_once=runs_at_once)

    assert [name for page in pages for name in page.run_ids] == plain
    assert [name for page in pages for name in page.others] == others
    assert max(len(page.every_run_id) for page in pages) <= runs_at_once


def test_a_page_holds_what_the_runs_hold(store, reader, filled) -> None:
    plain, _ = filled
    (page,) = run_pages(store)

    ends = page.sweeps.cumsum()
    for at, run_id in enumerate(plain):
        run = reader.run(run_id)
        usable = [sweep for sweep in run.sweeps if not sweep.void]
        rows = slice(ends[at] - page.sweeps[at], ends[at])
        conditions = run.header.conditions

        assert page.sweeps[at] == len(usable)
        assert page.order[rows].tolist() == [s.index for s in usable]
        assert page.speed_mm_s[rows].tolist() == [s.speed_mm_s for s in usable]
        assert page.operate_steps[rows].tolist() == [
            s.operate.position_steps for s in usable
        ]
        assert page.release_steps[rows].tolist() == [
            s.release.position_steps for s in usable
        ]
        assert page.datum_steps[at] == conditions.datum.position_steps
        assert page.backlash_mm[at] == conditions.backlash.value_mm
        assert page.circumstances[at].sweeps == len(run.sweeps)
        assert page.circumstances[at].first_void == "an edge too many"


def test_empty_records_give_no_page(store) -> None:
    assert run_pages(store) == []
