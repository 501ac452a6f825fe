"""Every attempt to measure leaves an outcome on record, whatever became of it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rig.errors import LinkError, RecordsError, RigError, Stopped
from rig.model.attempts import Attempt, Outcome
from rig.procedures.carry_out_run import carry_out_run, touch_off_and_run
from rig.procedures.events import Event, SweepEnded, Tell
from rig.records import Reader, RunFilter, Store, Writer
from rig.records.attempt_book import AttemptBook

from .conftest import MakeRig, SimRig


def only(store: Store) -> Attempt:
    (attempt,) = AttemptBook(store).attempts()
    return attempt


def on_first_sweep(act: Callable[[], None]) -> Tell:
    def tell(event: Event) -> None:
        if isinstance(event, SweepEnded) and event.good == 1:
            act()

    return tell


def test_a_run_with_figures_leaves_that_outcome(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=1)

    result = touch_off_and_run(rig.order(sweeps=2), rig.context(writer))

    attempt = only(store)
    assert attempt.run_id == result.run.header.run_id
    assert attempt.end is not None
    assert attempt.end.outcome is Outcome.FIGURES
    assert attempt.end.sentence == attempt.end.causes == ""
    assert attempt.started_at <= attempt.end.ended_at


@pytest.mark.parametrize(
    ("fault", "outcome", "has_run"),
    [
        ("sensor_dead", Outcome.NEVER_SWITCHES, True),
        ("sensor_on", Outcome.ALWAYS_ON, True),
        ("chatter:0.1", Outcome.CHATTER, True),
        ("lost_steps", Outcome.STEPS_LOST, True),
        ("face_moved:800", Outcome.DATUM_MOVED, True),
        ("supply_lost:5", Outcome.SUPPLY_GONE, False),
        ("supply_lost:25", Outcome.SUPPLY_GONE, True),
        ("home_broken", Outcome.NOT_HOMED, False),
        ("home_stuck", Outcome.NOT_HOMED, False),
        # The touch probe ends it at the face
        ("axis_reversed", Outcome.NOT_HOMED, False),
        pytest.param(
            *("probe_dead", Outcome.NOT_MEASURABLE, False),
            marks=pytest.mark.strikes,
        ),
        ("restart_at:5", Outcome.LINK_LOST, False),
        ("hang_up:5", Outcome.LINK_LOST, False),
        ("hang_up:25", Outcome.LINK_LOST, True),
    ],
)
def test_what_went_wrong_is_on_record_with_its_words_and_causes(
    make_rig: MakeRig,
    writer: Writer,
    store: Store,
    fault: str,
    outcome: Outcome,
    has_run: bool,
) -> None:
    rig = make_rig(seed=8, fault=fault)
    order = rig.order(sweeps=6)

    with pytest.raises(RigError) as caught:
        touch_off_and_run(order, rig.context(writer))

    attempt = only(store)
    assert attempt.end is not None
    assert attempt.end.outcome is outcome
    assert attempt.end.sentence == str(caught.value)
    assert attempt.end.causes == caught.value.hint
    assert (attempt.sensor, attempt.target) == (order.sensor, order.target)
    assert attempt.simulated
    runs = Reader(store).runs(RunFilter(run_ids=(attempt.run_id,)))
    assert len(runs) == int(has_run)


def test_a_stop_by_hand_is_an_outcome(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=2)
    tell = on_first_sweep(rig.mover.link.stop)

    with pytest.raises(Stopped):
        touch_off_and_run(rig.order(sweeps=4), rig.context(writer, tell))

    attempt = only(store)
    assert attempt.end is not None
    assert attempt.end.outcome is Outcome.STOPPED


class PowerCut(BaseException):
    """Stands for what ends a process without a word."""


def test_a_power_cut_leaves_an_attempt_without_an_end(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    def cut() -> None:
        raise PowerCut

    rig = make_rig(seed=2)
    with pytest.raises(PowerCut):
        touch_off_and_run(rig.order(sweeps=4), rig.context(writer, on_first_sweep(cut)))

    assert only(store).end is None


def test_a_run_that_is_resumed_has_an_attempt_each_time(
    make_rig: MakeRig, writer: Writer, store: Store, reader: Reader
) -> None:
    rig = make_rig(seed=2)
    stop = on_first_sweep(rig.mover.link.stop)
    with pytest.raises(Stopped):
        touch_off_and_run(rig.order(sweeps=3), rig.context(writer, stop))
    rig.mover.link.forget_stop()
    (summary,) = reader.runs()

    rig.run(
        rig.touch_off(),
        rig.order(sweeps=3),
        writer,
        unfinished=reader.run(summary.run_id),
    )

    attempts = AttemptBook(store).of_runs([summary.run_id])[summary.run_id]
    assert [one.index for one in attempts] == [0, 1]
    assert [one.end and one.end.outcome for one in attempts] == [
        Outcome.STOPPED,
        Outcome.FIGURES,
    ]


def test_nothing_moves_when_the_attempt_cannot_be_put_on_record(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    class Full(AttemptBook):
        def begin(self, attempt: Attempt) -> None:
            raise RecordsError("the disk is full")

    rig: SimRig = make_rig(seed=2)
    before = rig.mover.position_steps
    context = rig.context(writer, attempts=Full(store))

    with pytest.raises(RecordsError, match="full"):
        touch_off_and_run(rig.order(), context)

    assert rig.gos() == []
    assert rig.mover.position_steps == before


def test_an_outcome_that_cannot_be_kept_is_said_and_hides_no_error(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    class Full(AttemptBook):
        def end(self, attempt: Attempt, end: object) -> None:
            raise RecordsError("the disk is full")

    rig = make_rig(seed=8, fault="sensor_dead")
    bench = rig.touch_off()

    with pytest.raises(LinkError, match="never switches"):
        carry_out_run(bench, rig.order(), rig.context(writer, attempts=Full(store)))

    told = [event for event in rig.told if hasattr(event, "sentence")]
    assert "not on record: the disk is full" in told[-1].sentence
