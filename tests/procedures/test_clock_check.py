"""A clock that was set back, or was ahead, is said where a run begins."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from rig.procedures.events import Remarked
from rig.records import Writer

from .conftest import MakeRig, SimRig

NOON = datetime(2026, 11, 28, 12, tzinfo=UTC)


def said_of_the_clock(rig: SimRig) -> list[str]:
    return [
        event.sentence
        for event in rig.told
        if isinstance(event, Remarked) and event.sentence.startswith("The clock says")
    ]


def test_a_run_from_later_than_now_is_named_once_for_each_run(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1)
    bench = rig.touch_off()
    order = rig.order(sweeps=2)
    first = rig.run(bench, order, writer, now=lambda: NOON)
    before = said_of_the_clock(rig)

    # As when a battery is empty: the clock begins a year back
    back = NOON - timedelta(days=365)
    second = rig.run(first.bench, order, writer, now=lambda: back)
    (sentence,) = said_of_the_clock(rig)

    assert before == []
    assert "The clock says 2025-11-28 12:00:00 UTC" in sentence
    assert first.run.header.run_id in sentence
    assert "began at 2026-11-28 12:00:00 UTC" in sentence
    assert second.run.header.started_at == back


def test_clocks_of_two_computers_that_differ_a_little_are_not_said(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1)
    bench = rig.touch_off()
    order = rig.order(sweeps=2)
    first = rig.run(bench, order, writer, now=lambda: NOON)

    rig.run(first.bench, order, writer, now=lambda: NOON - timedelta(seconds=1))

    assert said_of_the_clock(rig) == []
