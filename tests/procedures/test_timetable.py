"""Sweeps that wait for their turn, on the simulated rig's own clock."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from rig.analysis.standard.run_against_standard import standard_of_run
from rig.errors import InputError, Stopped
from rig.model.sweeps import Timetable
from rig.procedures.events import Remarked, StepBegan
from rig.procedures.run_order import RunOrder
from rig.records import Reader, RunFilter, Writer

from .conftest import MakeRig, SimRig


def timed(rig: SimRig, *, hours: float, readings: int, each: int = 2) -> RunOrder:
    order = rig.order(sweeps=readings * each)
    return replace(order, timetable=Timetable(hours=hours, readings=readings))


def hours_of(times: list[datetime]) -> list[float]:
    return [(at - times[0]).total_seconds() / 3600 for at in times]


@pytest.mark.long
def test_eight_hours_pass_by_the_rigs_clock_and_make_the_standards_test(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=3)
    order = timed(rig, hours=8.0, readings=9)

    result = rig.run(rig.touch_off(), order, writer)

    ended = [sweep.ended_at for sweep in result.run.sweeps]
    # 1 s for the sweep that begins when it is due
    assert hours_of(ended)[::2] == pytest.approx(range(9), abs=1 / 3600)
    assert result.run.void == ""
    found = standard_of_run(result.run, result.figures)
    assert found.eight_hours is not None
    assert found.eight_hours.complete
    assert found.eight_hours.repeat_accuracy.kind == "8 h test"
    assert found.verdicts["R"].decision.value == "conforms"
    assert found.verdicts["R"].figure.n == 9


def test_the_link_is_looked_after_while_it_waits(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=3)
    bench = rig.touch_off()
    times: list[float] = []
    write = rig.transport.write

    def noted(data: bytes) -> None:
        times.append(rig.mover.link.now_s())
        write(data)

    rig.transport.write = noted  # type: ignore[method-assign]

    rig.run(bench, timed(rig, hours=0.05, readings=2), writer)

    pauses = [b - a for a, b in itertools.pairwise(times)]
    assert times[-1] - times[0] > 180
    assert max(pauses) < 2.1


def test_a_shorter_timetable_is_not_called_the_8_h_test(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=3)

    result = rig.run(rig.touch_off(), timed(rig, hours=0.1, readings=3), writer)

    found = standard_of_run(result.run, result.figures)
    assert found.eight_hours is not None
    assert not found.eight_hours.complete
    assert found.eight_hours.repeat_accuracy.kind == "timetable, not the 8 h test"
    assert "not the 8 h test of the standard: the readings span 0.1 h" in " ".join(
        found.statements
    )


def test_a_stop_while_waiting_ends_it_at_once_and_it_goes_on_where_it_was(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=3)
    order = timed(rig, hours=0.2, readings=3)
    bench = rig.touch_off()
    rig.at_time(rig.mover.link.now_s() + 200.0, rig.mover.link.stop)
    with pytest.raises(Stopped):
        rig.run(bench, order, writer)
    rig.mover.link.forget_stop()
    stopped_s = rig.mover.link.now_s()
    (summary,) = reader.runs(RunFilter())
    cut_short = reader.run(summary.run_id)

    result = rig.run(
        rig.touch_off(),
        order,
        writer,
        unfinished=cut_short,
        chance=random.Random(1),
    )

    assert len(cut_short.sweeps) == 2
    assert stopped_s < 300.0
    ended = [sweep.ended_at for sweep in result.run.sweeps if not sweep.void]
    assert ended == sorted(ended)
    assert hours_of(ended)[-1] > 0.19
    assert len(ended) == 6


def test_a_reading_that_is_long_overdue_is_taken_at_once_and_said(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=3)
    order = timed(rig, hours=0.2, readings=3)
    bench = rig.touch_off()
    rig.at_time(rig.mover.link.now_s() + 200.0, rig.mover.link.stop)
    with pytest.raises(Stopped):
        rig.run(bench, order, writer)
    rig.mover.link.forget_stop()
    (summary,) = reader.runs(RunFilter())
    cut_short = reader.run(summary.run_id)
    much_later = cut_short.sweeps[-1].ended_at + timedelta(hours=1)

    rig.run(
        rig.touch_off(),
        order,
        writer,
        unfinished=cut_short,
        now=lambda: much_later,
        chance=random.Random(1),
    )

    said = [event.sentence for event in rig.told if isinstance(event, Remarked)]
    assert any("Reading 2 of 3 is 5" in sentence for sentence in said), said


def test_somebody_who_looks_on_sees_how_long_it_waits(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=3)

    rig.run(rig.touch_off(), timed(rig, hours=0.1, readings=2), writer)

    steps = [event.what for event in rig.told if isinstance(event, StepBegan)]
    assert "waiting for reading 2 of 2, 6 min" in steps
    assert sum("waiting" in step for step in steps) == pytest.approx(6, abs=1)


@pytest.mark.parametrize(
    ("hours", "readings", "sweeps", "words"),
    [
        (0.0, 3, 6, "timetable: 0 hours"),
        (8.0, 1, 6, "1 readings span no time"),
        (8.0, 4, 6, "6 sweeps cannot be shared out among 4 readings"),
    ],
)
def test_a_timetable_that_cannot_be_kept_is_refused(
    make_rig: MakeRig, hours: float, readings: int, sweeps: int, words: str
) -> None:
    rig = make_rig()

    with pytest.raises(InputError, match=words):
        replace(
            rig.order(sweeps=sweeps),
            timetable=Timetable(hours=hours, readings=readings),
        )
