"""Orders from what is on record: a run is resumed with all that it was begun with."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from rig.errors import Stopped
from rig.model.sweeps import Timetable
from rig.procedures.events import Event, SweepEnded, Tell
from rig.procedures.goal import LEAST_SWEEPS
from rig.procedures.run_order import RunOrder, order_on_record
from rig.records import Reader, Writer

from .conftest import MakeRig, SimRig

UNTIL_MM = 0.0055


def stopped_after(sweeps: int) -> Tell:
    def tell(event: Event) -> None:
        if isinstance(event, SweepEnded) and event.good == sweeps:
            raise Stopped("stopped on request")

    return tell


def cut_short(
    rig: SimRig, order: RunOrder, writer: Writer, reader: Reader, *, sweeps: int
) -> str:
    with pytest.raises(Stopped):
        rig.run(rig.touch_off(), order, writer, tell=stopped_after(sweeps))
    (summary,) = reader.runs()
    return summary.run_id


def test_an_order_comes_back_from_the_records_whole(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=3)
    order = replace(
        rig.order(sweeps=6),
        until_mm=UNTIL_MM,
        operator="A. Operator",
        note="first lot",
        part="S-101",
        label="trimmer: before",
    )

    run_id = cut_short(rig, order, writer, reader, sweeps=1)

    assert order_on_record(reader.run(run_id).header) == order


def test_a_resumed_run_ends_at_its_goal(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=1)
    order = replace(rig.order(sweeps=60), until_mm=UNTIL_MM)
    unfinished = reader.run(cut_short(rig, order, writer, reader, sweeps=4))

    again = order_on_record(unfinished.header)
    result = rig.run(rig.touch_off(), again, writer, unfinished=unfinished)

    operate = result.figures.operate
    assert LEAST_SWEEPS <= operate.n < 60
    assert operate.expanded_uncertainty is not None
    assert operate.expanded_uncertainty <= UNTIL_MM


def test_a_resumed_run_ends_at_its_verdict(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=5)
    order = replace(rig.order(sweeps=10), for_verdict=True)
    unfinished = reader.run(cut_short(rig, order, writer, reader, sweeps=2))

    again = order_on_record(unfinished.header)
    result = rig.run(rig.touch_off(), again, writer, unfinished=unfinished)

    assert again == order
    # Fewer at two speeds have no uncertainty
    assert len(result.run.sweeps) == 5
    assert "ended after 5 of 10 sweeps" in result.remarks[0]


def test_a_resumed_run_keeps_the_clock_of_its_timetable(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=3)
    timetable = Timetable(hours=2.0, readings=3)
    order = replace(rig.order(sweeps=3), timetable=timetable)
    unfinished = reader.run(cut_short(rig, order, writer, reader, sweeps=1))

    again = order_on_record(unfinished.header)
    run = rig.run(rig.touch_off(), again, writer, unfinished=unfinished).run

    # By the rig's clock hours pass in seconds of the wall's
    first, *_, last = [sweep.ended_at for sweep in run.sweeps]
    assert abs(last - first - timedelta(hours=2)) < timedelta(minutes=1)
