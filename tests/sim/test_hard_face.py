"""The hard face of the simulated rig, and the faults that lead into it."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import Fault, FaultNotice
from sim.bench import Bench
from sim.device import Controller
from sim.faults import NO_FAULTS, read_faults
from sim.machine import Machine, Mounting
from sim.presets import SENSORS, TARGETS

STEPS_PER_MM = 1600
GIVE_MM = 0.1


def rig(faults: str = "", **made: float) -> Controller:
    """Return a rig with its face at 30 mm, without play and noise."""
    mounting = Mounting(sensor=SENSORS["capacitive"], target=TARGETS["steel"])
    machine = Machine(give_mm=GIVE_MM, **made)
    in_force = read_faults(faults) if faults else NO_FAULTS
    return Controller(Bench(machine, mounting, faults=in_force), faults=in_force)


def told(host) -> list[int]:
    return [notice.fault for notice in host.notices(FaultNotice)]


@pytest.mark.strikes
def test_the_face_stops_the_target_and_keeps_how_hard_it_was_struck(hold) -> None:
    host = hold(rig("probe_dead")).get_ready()

    host.order("q4 go 50000 3200 160000 0 0")

    # By hand: hard at 30.1 mm, told to go to 31.25 mm at 2 mm/s
    (strike,) = host.controller.truth().strikes
    assert strike.way_mm == pytest.approx(31.25 - 30.1, abs=2 / STEPS_PER_MM)
    assert strike.speed_mm_s == pytest.approx(2.0)
    assert host.controller.bench._carriage_mm == pytest.approx(30.1)
    # The motor stalled: the count is wrong by as much, and homing finds it
    host.order("q5 home 16000 400")
    (_, again) = host.edges("home")
    assert again.position == pytest.approx(1.15 * STEPS_PER_MM, abs=2)


@pytest.mark.strikes
def test_what_stands_at_the_hard_face_strikes_it_with_the_first_step(hold) -> None:
    host = hold(rig("probe_dead")).get_ready()
    host.order("q4 go 50000 3200 160000 0 0")

    host.order("q5 go 50016 800 160000 0 0")

    last = host.controller.truth().strikes[-1]
    assert last.way_mm == pytest.approx(0.01)
    assert last.speed_mm_s == pytest.approx(0.5)


def test_a_touch_and_a_contact_strike_nothing(hold) -> None:
    host = hold(rig(probe_delay_s=0.004)).get_ready()

    touch = host.order("q4 touch 64000 1600")
    host.order("q5 go 40000 16000 160000 0 0")
    contact = host.order("q6 go 64000 16000 160000 0 0")

    assert (touch.cause, contact.cause) == ("touched", "contact")
    assert host.controller.truth().strikes == ()


@pytest.mark.parametrize("start_mm", [5.0, 29.9])
def test_home_of_a_reversed_axis_ends_at_the_face(hold, start_mm: float) -> None:
    host = hold(rig("axis_reversed", start_mm=start_mm))
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    assert (rest.cause, told(host)) == ("fault", [Fault.PROBE_UNEXPECTED])
    # Counted down all the way that it went up
    assert rest.position == pytest.approx(-(30.0 - start_mm) * STEPS_PER_MM, abs=1)
    assert host.controller.bench._carriage_mm == pytest.approx(30.0, abs=1e-3)
    assert host.controller.truth().strikes == ()


def test_home_with_its_switch_stuck_closed_ends_at_the_face(hold) -> None:
    host = hold(rig("home_shorted", start_mm=29.9))
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    assert (rest.cause, told(host)) == ("fault", [Fault.PROBE_UNEXPECTED])
    assert rest.position == pytest.approx(0.1 * STEPS_PER_MM, abs=1)
    assert host.controller.truth().strikes == ()


def test_home_leads_away_from_the_face_where_power_came_on(hold) -> None:
    host = hold(rig("starts_touching", backlash_mm=0.3))
    host.ask("q1 hail 1")
    assert host.look().inputs & 2

    rest = host.order("q2 home 16000 400")

    assert rest.cause == "homed"
    (opened,) = host.edges("probe")
    # Half the play is taken up first: the carriage stood in its middle
    assert -opened.position == pytest.approx(0.15 * STEPS_PER_MM, abs=2)
    assert host.controller.truth().strikes == ()


def test_home_gives_up_on_a_probe_that_stays_closed(hold) -> None:
    host = hold(rig("probe_shorted"))
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    assert (rest.cause, told(host)) == ("fault", [Fault.PROBE_UNEXPECTED])
    assert rest.position == -0.5 * STEPS_PER_MM


def test_home_is_refused_where_it_would_begin_toward_the_face(hold) -> None:
    host = hold(rig("starts_touching,home_shorted"))
    host.ask("q1 hail 1")

    assert b"&x2 no 12 0 " in host.ask("q2 home 16000 400")

    assert host.look().state == "raw"
    assert host.look().position == 0


@pytest.mark.strikes
def test_against_the_face_a_reversed_axis_presses_half_a_millimetre_at_most(
    hold,
) -> None:
    host = hold(rig("starts_touching,axis_reversed"))
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    assert (rest.cause, told(host)) == ("fault", [Fault.PROBE_UNEXPECTED])
    (strike,) = host.controller.truth().strikes
    assert strike.way_mm == pytest.approx(0.5 - GIVE_MM, abs=2 / STEPS_PER_MM)
    assert strike.speed_mm_s == pytest.approx(0.25)
