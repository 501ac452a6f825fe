"""Setting a trimmer on the simulated rig: it converges, and no hand is in the way.

The truth that it is held against is the simulated sensor's own operate point.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from firmware_protocol.messages import GoRequest, State
from rig.errors import InputError, Stopped
from rig.procedures.trimmer import Check, Finish, Turned, Wish, set_trimmer
from rig.procedures.trimmer_guide import (
    TOLERANCE_MM,
    Screw,
    TrimmerAdvice,
    TrimmerCheck,
    TrimmerGuide,
    Turn,
)

from .conftest import MakeRig, SimRig

SMALL = 1.01  # of the threshold, by one turn
PATIENCE = 400  # wishes; only a hand that is led in circles needs so many


class Hand:
    """Does what it is told; tries a way where none is named yet."""

    def __init__(self, rig: SimRig, *, clockwise_is_more: bool) -> None:
        self.rig = rig
        self.clockwise_is_more = clockwise_is_more
        self.advice: list[TrimmerAdvice] = []
        self.wishes: list[Wish] = []
        self.checks = 0

    def tell(self, event: object) -> None:
        if isinstance(event, TrimmerAdvice):
            self.advice.append(event)

    def turn(self, wish: Turned) -> None:
        more = (wish.screw is Screw.CLOCKWISE) is self.clockwise_is_more
        ratio = SMALL**wish.turns
        self.rig.controller.turn_trimmer(1 / ratio if more else ratio)

    def next_wish(self, _wait_s: float) -> Wish:
        advice = self.advice[-1]
        assert len(self.wishes) < PATIENCE, advice
        if advice.settled:
            wish: Wish = Finish()
        elif advice.confirm or self._turned_enough(advice):
            wish = Check()
            self.checks += 1
        else:
            screw = advice.screw or Screw.CLOCKWISE
            wish = Turned(screw=screw, turns=self._turns(advice))
        self.wishes.append(wish)
        return wish

    def _turns(self, advice: TrimmerAdvice) -> float:
        return advice.turns_about or 1.0

    def _turned_enough(self, advice: TrimmerAdvice) -> bool:
        """Whether a hand that tries blindly should look where it has come to."""
        turns = [w for w in self.wishes[-3:] if isinstance(w, Turned)]
        return advice.screw is None and len(turns) == 3


@pytest.mark.long
@pytest.mark.parametrize("clockwise_is_more", [True, False])
@pytest.mark.parametrize("sensitivity", [0.7, 0.9, 1.0, 1.1, 1.4])
@pytest.mark.parametrize("sensor", ["level-18", "level-18-nc"])
def test_advice_leads_the_output_to_operate_at_the_wanted_gap(
    make_rig: MakeRig, sensor: str, sensitivity: float, clockwise_is_more: bool
) -> None:
    output = "NC" if sensor.endswith("nc") else "NO"
    rig = make_rig(seed=3, sensitivity=sensitivity, output=output)
    bench = rig.touch_off()
    hand = Hand(rig, clockwise_is_more=clockwise_is_more)

    set_trimmer(
        bench,
        rig.catalogue.sensor(sensor),
        8.0,
        hand.next_wish,
        hand.tell,
        turn=hand.turn,
    )

    truth = rig.truth()
    assert truth.observed_operate_mm is not None
    # 4 ms at 1 mm/s, and 3 standard deviations of datum and screw
    allowed_mm = TOLERANCE_MM + 0.004 + 3 * 0.0025
    assert abs(truth.observed_operate_mm - 8.0) <= allowed_mm
    assert hand.advice[-1].settled
    assert hand.advice[-1].check.n == 3


def test_the_way_to_turn_is_learnt_from_what_the_hand_did(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3, sensitivity=0.9)
    hand = Hand(rig, clockwise_is_more=False)

    set_trimmer(
        rig.touch_off(),
        rig.catalogue.sensor("level-18"),
        8.0,
        hand.next_wish,
        hand.tell,
        turn=hand.turn,
    )

    assert hand.advice[0].screw is None
    assert "which way to turn is not known yet" in hand.advice[0].sentence
    learnt = [a for a in hand.advice if a.screw is not None]
    assert learnt
    assert {a.screw for a in learnt if a.turn is Turn.MORE} == {Screw.ANTICLOCKWISE}


def test_the_axis_rests_at_the_gap_while_the_screw_is_turned(
    make_rig: MakeRig,
) -> None:
    rig = make_rig(seed=3)
    wanted_mm = 6.0
    seen: list[tuple[float, State]] = []
    wishes = iter([*(Turned(screw=Screw.CLOCKWISE),) * 20, Finish()])

    def next_wish(_wait_s: float) -> Wish:
        seen.append((rig.true_gap_mm(), rig.mover.link.look().state))
        return next(wishes)

    bench = rig.touch_off()
    before = len(rig.transport.requests)
    set_trimmer(
        bench, rig.catalogue.sensor("level-18"), wanted_mm, next_wish, lambda _: None
    )
    moves = [r for r in rig.transport.requests[before:] if isinstance(r, GoRequest)]

    assert len(moves) == 2  # far away, and to the gap on approach
    assert {state for _, state in seen} == {State.READY}
    for gap_mm, _ in seen:
        assert gap_mm == pytest.approx(wanted_mm, abs=0.01)


def test_the_target_stays_off_the_face(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3, sensitivity=0.02, zero_um=0)
    wishes = iter([Check(), Finish()])
    told: list[TrimmerAdvice] = []

    def tell(event: object) -> None:
        if isinstance(event, TrimmerAdvice):
            told.append(event)

    bench = rig.touch_off()
    rig.transport.nearest_mm = float("inf")
    set_trimmer(
        bench,
        rig.catalogue.sensor("level-18"),
        1.0,
        lambda _: next(wishes),
        tell,
    )

    assert rig.transport.nearest_mm > 0.5 * rig.settings.face_margin_mm
    assert told[-1].turn is Turn.MORE


def test_stop_ends_the_hold(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3)
    bench = rig.touch_off()

    def next_wish(_wait_s: float) -> None:
        rig.mover.link.stop()

    with pytest.raises(Stopped):
        set_trimmer(
            bench, rig.catalogue.sensor("level-18"), 8.0, next_wish, lambda _: None
        )


@pytest.mark.parametrize("gap_mm", [0.0, 0.1, 13.5, float("nan")])
def test_a_gap_that_cannot_be_held_is_refused_before_anything_moves(
    make_rig: MakeRig, gap_mm: float
) -> None:
    rig = make_rig(seed=3)
    bench = rig.touch_off()
    before = len(rig.gos())

    with pytest.raises(InputError, match="cannot be held") as raised:
        set_trimmer(
            bench,
            rig.catalogue.sensor("level-18"),
            gap_mm,
            lambda _: Finish(),
            lambda _: None,
        )

    assert "0.25 to 13.24 mm" in raised.value.hint
    assert len(rig.gos()) == before


# ------------------------------------------------------------- the guide by itself


def guided(*steps: Callable[[TrimmerGuide], None]) -> TrimmerAdvice:
    guide = TrimmerGuide(8.0)
    for step in steps:
        step(guide)
    return guide.advice()


def test_an_output_that_is_on_must_release_before_it_can_sit_on_the_edge() -> None:
    advice = guided(lambda g: g.see(True))

    assert advice.turn is Turn.LESS
    assert not advice.confirm
    assert "releases" in advice.sentence


def test_an_edge_found_by_turning_is_confirmed_with_hands_clear() -> None:
    advice = guided(lambda g: g.see(False), lambda g: g.see(True))

    assert advice.turn is Turn.LEAVE
    assert advice.confirm
    assert "Hands clear" in advice.sentence


def test_turns_both_ways_teach_nothing() -> None:
    advice = guided(
        lambda g: g.see(False),
        lambda g: g.turned(Screw.CLOCKWISE),
        lambda g: g.turned(Screw.ANTICLOCKWISE),
        lambda g: g.see(True),
        lambda g: g.see(False),
    )

    assert advice.screw is None


def test_two_checks_tell_how_far_to_turn() -> None:
    advice = guided(
        lambda g: g.see(False),
        lambda g: g.checked(TrimmerCheck(operate_mm=7.0, range_mm=0.0, n=3)),
        lambda g: g.turned(Screw.ANTICLOCKWISE, 2.0),
        lambda g: g.checked(TrimmerCheck(operate_mm=7.5, range_mm=0.0, n=3)),
        lambda g: g.see(False),
    )

    assert advice.screw is Screw.ANTICLOCKWISE
    assert advice.turns_about == pytest.approx(2.0)
    assert "about 2.0 turns" in advice.sentence


def test_a_turn_after_the_last_check_takes_its_word_back() -> None:
    set_well = TrimmerCheck(operate_mm=8.02, range_mm=0.0, n=3)
    settled = guided(lambda g: g.checked(set_well), lambda g: g.see(True))
    turned = guided(
        lambda g: g.checked(set_well),
        lambda g: g.see(True),
        lambda g: g.turned(Screw.CLOCKWISE),
    )

    assert settled.settled
    assert not turned.settled
