from __future__ import annotations

import dataclasses
import hashlib
import math
import random
from datetime import UTC, datetime, timedelta, timezone
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.model.sweeps import Run
from rig.records import (
    PlanState,
    Reader,
    RunFilter,
    Writer,
    edges_checksum,
    make_run_id,
)

ON_SERVER_TOO = True


def test_a_run_comes_back_as_it_was_measured(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header(conditions=samples.conditions(note="Späne; 'x' \"y\"\n"))
    sweeps = (
        samples.sweep(0),
        samples.sweep(1, edges=0, void="the sensor never switched"),
        samples.sweep(2, edges=1, void="no release edge"),
        samples.sweep(3, edges=7),
    )
    ended_at = samples.NOON + timedelta(minutes=1)

    writer.begin_run(header)
    for sweep in sweeps:
        writer.add_sweep(header.run_id, sweep)
    writer.end_run(
        header.run_id, ended_at=ended_at, void="home moved", home_shift_steps=-32
    )

    assert reader.run(header.run_id) == Run(
        header=header,
        sweeps=sweeps,
        void="home moved",
        ended_at=ended_at,
        home_shift_steps=-32,
    )


def test_a_run_in_progress_shows_what_it_has(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)
    writer.add_sweep(header.run_id, samples.sweep(0))

    assert reader.run(header.run_id) == Run(header=header, sweeps=(samples.sweep(0),))


def test_a_time_of_another_zone_comes_back_as_the_same_moment_in_utc(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    local = datetime(2026, 11, 26, 0, 30, tzinfo=timezone(timedelta(hours=2)))
    header = samples.header(started_at=local)
    writer.begin_run(header)

    started_at = reader.run(header.run_id).header.started_at

    assert started_at == local
    assert started_at.tzinfo is UTC
    assert started_at.day == 25


def test_a_time_without_a_zone_is_refused(writer: Writer, samples: ModuleType) -> None:
    header = samples.header(started_at=datetime(2026, 11, 25))

    with pytest.raises(ValueError, match="time zone"):
        writer.begin_run(header)


def test_an_operate_edge_that_is_not_among_the_edges_is_refused(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)
    sweep = dataclasses.replace(samples.sweep(0), operate=samples.sweep(5).operate)

    with pytest.raises(ValueError, match="operate edge of sweep 0"):
        writer.add_sweep(header.run_id, sweep)

    assert reader.run(header.run_id).sweeps == ()


def test_figures_come_back_and_a_recompute_keeps_the_old_ones(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)
    first = samples.figures(7.9)
    second = samples.figures(7.8, analysis_version="2")

    assert reader.latest_figures(header.run_id) is None
    writer.add_figures(header.run_id, first, computed_at=samples.NOON)
    assert reader.latest_figures(header.run_id) == first
    writer.add_figures(
        header.run_id, second, computed_at=samples.NOON, software_version="9.9"
    )

    assert reader.latest_figures(header.run_id) == second
    every = reader.computations(header.run_id)
    assert [c.figures for c in every] == [first, second]
    assert every[1].software_version == "9.9"
    assert every[0].computed_at == samples.NOON


def test_a_figure_that_is_not_a_number_stays_one(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)
    given = dataclasses.replace(samples.figures(), release=samples.figure(math.nan))

    writer.add_figures(header.run_id, given, computed_at=samples.NOON)

    found = reader.latest_figures(header.run_id)
    assert found is not None
    assert math.isnan(found.release.value)
    assert found.operate == given.operate


def test_latest_computations_answers_for_many_runs_at_once(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    headers = [samples.header(number) for number in range(3)]
    for number, header in enumerate(headers):
        writer.begin_run(header)
        if number:
            for value in (1.0, 2.0):
                figures = samples.figures(value + number)
                writer.add_figures(header.run_id, figures, computed_at=samples.NOON)

    latest = reader.latest_computations([header.run_id for header in headers])

    assert {run_id: c.figures.operate.value for run_id, c in latest.items()} == {
        headers[1].run_id: 3.0,
        headers[2].run_id: 4.0,
    }


def test_runs_are_listed_as_they_were_put_on_record_with_their_counts(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    # By the clock the first would be the last: a clock may have been set back
    begun = (2, 1, 0)
    for number in begun:
        writer.begin_run(samples.header(number))
    run_id = samples.header(1).run_id
    for index in range(3):
        void = "chatter" if index == 1 else ""
        writer.add_sweep(run_id, samples.sweep(index, edges=5, void=void))

    listed = reader.runs()

    assert [run.run_id for run in listed] == [
        samples.header(number).run_id for number in begun
    ]
    assert [(run.good_sweeps, run.void_sweeps) for run in listed] == [
        (0, 0),
        (2, 1),
        (0, 0),
    ]
    assert listed[1].sensor == "level 18 mm no. 4"
    assert listed[1].material == "steel"
    assert listed[1].ended_at is None


def test_filters_choose_runs(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    real = samples.conditions(simulated=False)
    headers = [
        samples.header(0),
        samples.header(1, target=samples.WHEAT),
        samples.header(2, conditions=real),
        samples.header(3, target=samples.WHEAT, conditions=real),
    ]
    for header in headers:
        writer.begin_run(header)

    def chosen(wanted: RunFilter) -> list[int]:
        ids = [header.run_id for header in headers]
        summaries = [ids.index(run.run_id) for run in reader.runs(wanted)]
        whole = [ids.index(run.header.run_id) for run in reader.iter_runs(wanted)]
        assert whole == summaries
        return summaries

    noon = samples.NOON
    assert chosen(RunFilter()) == [0, 1, 2, 3]
    assert chosen(RunFilter(target="cell of wheat")) == [1, 3]
    assert chosen(RunFilter(sensor="level 18 mm no. 4", simulated=False)) == [2, 3]
    assert chosen(RunFilter(since=noon + timedelta(seconds=2))) == [2, 3]
    assert chosen(RunFilter(until=noon + timedelta(seconds=2))) == [0, 1]
    assert chosen(RunFilter(newest=2)) == [2, 3]
    assert chosen(RunFilter(run_ids=(headers[1].run_id, "no such run"))) == [1]
    assert chosen(RunFilter(sensor="another")) == []


def test_whole_runs_come_a_few_at_a_time(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    headers = [samples.header(number) for number in range(7)]
    for number, header in enumerate(headers):
        writer.begin_run(header)
        for index in range(number):
            writer.add_sweep(header.run_id, samples.sweep(index))

    found = list(reader.iter_runs(runs_at_once=3))

    assert [run.header for run in found] == headers
    assert [len(run.sweeps) for run in found] == list(range(7))


def test_a_run_begun_in_the_meantime_is_not_among_those_that_come(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    headers = [samples.header(number) for number in range(6)]
    for header in headers[:5]:
        writer.begin_run(header)

    runs = reader.iter_runs(runs_at_once=1)
    first = next(runs)
    writer.begin_run(headers[5])

    assert [run.header for run in (first, *runs)] == headers[:5]


def test_an_unknown_run_or_plan_is_told_by_its_name(
    reader: Reader, writer: Writer, samples: ModuleType
) -> None:
    for ask in (
        lambda: reader.run("20990101-x"),
        lambda: reader.verify("20990101-x"),
        lambda: reader.plan("20990101-x"),
        lambda: writer.end_run("20990101-x", ended_at=samples.NOON),
        lambda: writer.set_plan_state("20990101-x", PlanState.DONE),
    ):
        with pytest.raises(RecordsError, match=r"no (run|plan) 20990101-x is in"):
            ask()


def test_a_plan_says_what_is_still_to_be_done(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    plan = samples.plan()
    writer.begin_plan(plan)
    cut_short = samples.header(0, plan_id=plan.plan_id, plan_item=0)
    moved = samples.header(1, plan_id=plan.plan_id, plan_item=1)
    for header in (cut_short, moved):
        writer.begin_run(header)
        writer.add_sweep(header.run_id, samples.sweep(0))
        writer.add_sweep(header.run_id, samples.sweep(1, void="chatter"))
    writer.end_run(moved.run_id, ended_at=samples.NOON, void="the home switch moved")

    first, second = reader.plan_progress(plan.plan_id)

    assert (first.good_sweeps, first.missing_sweeps) == (1, 2)
    assert (second.good_sweeps, second.missing_sweeps) == (0, 3)
    assert [run.run_id for run in second.runs] == [moved.run_id]
    assert reader.plan(plan.plan_id) == plan
    writer.set_plan_state(plan.plan_id, PlanState.DONE)
    assert reader.plans() == [dataclasses.replace(plan, state=PlanState.DONE)]


def test_the_checksum_is_the_sha_256_of_the_documented_text(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)
    for index in range(2):
        writer.add_sweep(header.run_id, samples.sweep(index))
    text = (
        "edges 1\n"
        "0 0 65530 1 -2147483648 4294967290 1\n"
        "0 1 65531 0 -2147483647 4294967291 0\n"
        "1 0 65532 1 -2147482648 994 1\n"
        "1 1 65533 0 -2147482647 995 0\n"
    )

    stored = writer.end_run(header.run_id, ended_at=samples.NOON)

    assert stored == hashlib.sha256(text.encode()).hexdigest()
    assert edges_checksum(reader.run(header.run_id)) == stored


def test_a_run_that_never_ended_has_nothing_to_be_checked_against(
    writer: Writer, reader: Reader, samples: ModuleType
) -> None:
    header = samples.header()
    writer.begin_run(header)

    check = reader.verify(header.run_id)

    assert check.stored == ""
    assert check.intact is None


def test_run_identities_sort_by_time_and_differ_within_a_millisecond() -> None:
    source = random.Random(5)
    start = datetime(2026, 12, 31, 23, 59, 59, 999_000, tzinfo=UTC)
    times = [start + timedelta(milliseconds=k) for k in range(50)]

    made = [make_run_id(time, source) for time in times]
    same_time = {make_run_id(start, source) for _ in range(5)}

    assert made == sorted(made)
    assert made[0].startswith("20261231-235959-999-")
    assert made[1].startswith("20270101-000000-000-")
    assert len(same_time) == 5


def test_a_run_identity_is_made_from_utc() -> None:
    local = datetime(2026, 11, 26, 1, 0, tzinfo=timezone(timedelta(hours=2)))

    assert make_run_id(local, random.Random(1)).startswith("20261125-230000-000-")
    with pytest.raises(ValueError, match="time zone"):
        make_run_id(datetime(2026, 11, 26), random.Random(1))
