"""A holder clamped at several places: where the axis is meanwhile, what is refused."""

from __future__ import annotations

from itertools import pairwise

import pytest

from rig.errors import BenchError, InputError
from rig.model.attempts import Outcome
from rig.procedures.events import Remarked
from rig.procedures.place_runs import room_for_face_mm, sweep_at_places
from rig.records import Reader, Store, Writer
from rig.records.attempt_book import AttemptBook

from .conftest import MakeRig, SimRig


class Hand:
    """Clamps the holder of a simulated rig, and keeps what it was asked for."""

    def __init__(self, rig: SimRig) -> None:
        self.rig = rig
        self.asked: list[tuple[float | None, float]] = []
        self.gaps_mm: list[float] = []

    def clamp(self, near_mm: float | None, move_mm: float) -> None:
        self.asked.append((near_mm, move_mm))
        if near_mm is not None:
            self.gaps_mm.append(self.rig.true_gap_mm())
            self.rig.controller.clamp_face(near_mm)


def swept(rig: SimRig, writer: Writer, hand: Hand, *, places: int = 5, **order):
    return sweep_at_places(
        rig.order(**order),
        rig.context(writer),
        hand.clamp,
        lead_mm=2.0,
        places=places,
    )


@pytest.mark.long
def test_each_place_is_a_run_on_record_with_its_own_datum(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=8)
    hand = Hand(rig)

    runs = swept(rig, writer, hand)

    reader = Reader(store)
    assert [reader.run(run.header.run_id).header for run in runs] == [
        run.header for run in runs
    ]
    assert all(run.ended_at is not None and not run.void for run in runs)
    scale = rig.mover.traits.steps_per_mm
    faces_mm = [run.header.conditions.datum.position_steps / scale for run in runs]
    wanted_mm = [near for near, _ in hand.asked[1:]]
    # A hand comes near the place
    assert faces_mm[1:] == pytest.approx(wanted_mm, abs=0.6)
    assert len({round(face, 1) for face in faces_mm}) == 5
    assert [run.header.conditions.note for run in runs] == [
        f"periodic error, place {k} of 5" for k in range(1, 6)
    ]


@pytest.mark.long
def test_hands_have_room_and_are_told_how_far_to_move(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=8)
    hand = Hand(rig)

    runs = swept(rig, writer, hand)

    assert hand.asked[0] == (None, 0.0)
    assert min(hand.gaps_mm) > 20.0
    scale = rig.mover.traits.steps_per_mm
    for run, (near_mm, move_mm) in zip(runs, hand.asked[1:], strict=False):
        before_mm = run.header.conditions.datum.position_steps / scale
        assert near_mm == pytest.approx(before_mm + move_mm)


@pytest.mark.long
def test_the_target_touches_the_face_in_touch_off_alone(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=8)

    swept(rig, writer, Hand(rig))

    assert rig.transport.nearest_fenced_mm > 0.0


@pytest.mark.long
def test_times_are_those_of_the_rig(make_rig: MakeRig, writer: Writer) -> None:
    rig = make_rig(seed=8)

    runs = swept(rig, writer, Hand(rig))

    took_s = (runs[-1].header.started_at - runs[0].header.started_at).total_seconds()
    # A motion at a time; this process takes a second or so
    assert took_s > 60.0
    assert took_s < rig.mover.link.now_s()


@pytest.mark.long
def test_that_nothing_is_declared_is_said_once(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=8)

    swept(rig, writer, Hand(rig))

    said = [event.sentence for event in rig.told if isinstance(event, Remarked)]
    assert len([words for words in said if "Nothing is declared" in words]) == 1


@pytest.mark.long
def test_a_void_run_is_taken_once_more_at_the_same_place(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    """Steps are lost in one motion, somewhere in the second run."""
    plain = make_rig(seed=8)
    swept(plain, writer, Hand(plain))
    orders = sum(type(r).__name__ in _MOTIONS for r in plain.transport.requests)
    rig = make_rig(seed=8, fault=f"lost_steps:{round(0.33 * orders)}")
    hand = Hand(rig)

    runs = swept(rig, writer, hand)

    assert len(runs) == 5
    assert all(not run.void for run in runs)
    assert len(hand.asked) == 6
    asked_mm = [near for near, _ in hand.asked]
    assert any(a == b for a, b in pairwise(asked_mm))
    said = [event.sentence for event in rig.told if isinstance(event, Remarked)]
    assert any("taken once more" in words for words in said)
    assert sum(bool(run.void) for run in Reader(store).runs()) == 1
    ids = {one.run_id for one in Reader(store).runs() if one.void}
    (lost,) = [one for one in AttemptBook(store).attempts() if one.run_id in ids]
    assert lost.end is not None
    assert lost.end.outcome in {Outcome.STEPS_LOST, Outcome.DATUM_MOVED}


_MOTIONS = ("GoRequest", "TouchRequest", "HomeRequest")


def test_a_sensor_that_never_switches_is_given_up(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=8, fault="sensor_dead")

    with pytest.raises(BenchError, match="cannot be measured"):
        swept(rig, writer, Hand(rig))

    ends = [one.end for one in AttemptBook(store).attempts()]
    assert [end and end.outcome for end in ends] == 2 * [Outcome.NEVER_SWITCHES]


def test_distances_that_show_nothing_of_the_screw_end_it_after_one_run(
    make_rig: MakeRig, writer: Writer, store: Store
) -> None:
    rig = make_rig(seed=8)
    hand = Hand(rig)
    order = rig.order()
    # The sensor operates at 8.0 and releases at 9.5 mm: both multiples of half a mm
    with pytest.raises(InputError, match=r"near multiples of the lead of 0\.5 mm"):
        sweep_at_places(order, rig.context(writer), hand.clamp, lead_mm=0.5, places=5)

    assert len(Reader(store).runs()) == 1
    assert hand.asked == [(None, 0.0)]


@pytest.mark.parametrize("places", [4, 25])
def test_a_number_of_places_that_cannot_be_is_refused_before_anything_moves(
    make_rig: MakeRig, writer: Writer, places: int
) -> None:
    rig = make_rig(seed=8)

    with pytest.raises(InputError, match="give 5 to 24"):
        swept(rig, writer, Hand(rig), places=places)

    assert rig.gos() == []


@pytest.mark.long
def test_no_place_is_asked_for_that_the_sweeps_cannot_reach(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=8)
    lowest_mm, highest_mm = room_for_face_mm(
        rig.mover, rig.catalogue.sensor("level-18")
    )
    # So near home that the other half of a turn lies on the far side
    rig.controller.clamp_face(lowest_mm + 0.6)
    hand = Hand(rig)

    swept(rig, writer, hand)

    asked_mm = [near for near, _ in hand.asked if near is not None]
    assert len(asked_mm) == 4
    assert all(lowest_mm <= near <= highest_mm for near in asked_mm)
    assert any(near > lowest_mm + 1.0 for near in asked_mm)
