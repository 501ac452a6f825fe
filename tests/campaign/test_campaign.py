"""Short forms of the campaign, each with the claims of the whole."""

from __future__ import annotations

import random

import pytest

from tests.campaign.faulty_wire import Fault
from tests.campaign.judge import Outcome
from tests.campaign.lines import corrupted, forged, recorded
from tests.campaign.session import carried_out, quick_folder
from tests.campaign.settings import Setting, drawn, drawn_cuts

pytestmark = pytest.mark.long


def assert_sound(outcome: Outcome) -> None:
    assert (outcome.lost, outcome.untrue, outcome.missing) == (0, 0, 0)
    assert (outcome.beyond[1], outcome.far) == (0, 0)
    assert (outcome.unasked, outcome.nameless, outcome.untyped) == (0, 0, [])
    assert outcome.stopped_s <= 0.51


@pytest.mark.parametrize("seed", [3, 4, 24, 36])
def test_nothing_wrong_is_recorded_under_mixed_faults(seed: int) -> None:
    outcome = carried_out(drawn(seed, 20))

    assert_sound(outcome)
    assert len(outcome.classes) >= 2
    assert outcome.good == 20


def test_cuts_stop_the_axis_and_a_plan_goes_on_after_them() -> None:
    cuts = drawn_cuts(random.Random(3), 6)
    outcome = carried_out(Setting(seed=3, sweeps=40, cuts=cuts))

    assert_sound(outcome)
    assert outcome.complete
    assert outcome.by_hand == 0
    assert outcome.cuts_in_motion


def test_at_one_damaged_byte_in_1000_a_plan_ends_complete() -> None:
    noisy = Setting(
        seed=5, sweeps=30, shares={Fault.FLIP: 1e-3}, stops_from_noise=False
    )
    outcome = carried_out(noisy)

    assert_sound(outcome)
    assert outcome.classes[Fault.FLIP.value] > 10
    assert (outcome.complete, outcome.by_hand) == (True, 0)


def test_of_damaged_lines_the_check_lets_through_no_more_than_it_may() -> None:
    with quick_folder() as folder:
        found = recorded(folder)

    for one in corrupted(found.lines, 5_000, seed=1):
        assert one.accepted <= one.allowed
    caught = forged(found.motions, 1_000, seed=1)
    assert caught.left_beyond(5.0) == 0
    assert caught.by["sequence"] > 50
    assert caught.by["motion"] > 200
