"""Home, go, touch, turning, stopping: what moves and how it ends."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import FaultNotice, RestNotice


def test_the_first_home_ends_at_zero_and_tells_the_count_before(quiet_host, make_line):
    host = quiet_host()
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    (edge,) = host.edges("home")
    assert edge.level
    # It starts 5 mm up; no play: the switch closes at the step that is 5 mm down
    assert edge.position == -8000
    assert (rest.request, rest.cause, rest.position) == (2, "homed", 0)
    assert rest.time == edge.time
    look = host.look()
    assert (look.state, look.position, look.inputs) == ("unfenced", 0, 4 + 8 + 16 + 32)
    number = edge.number
    assert f"&n{number} edge 0 home 1 -8000 {edge.time} ".encode() in host.raw
    assert make_line(f"n{number + 1} rest 0 2 homed 0 {rest.time}") in host.raw


def test_a_second_home_finds_the_same_place(quiet_host):
    host = quiet_host(backlash_um="40").get_ready()
    host.order("q4 go 20000 16000 160000 0 0")

    host.order("q5 home 16000 400")

    assert host.edges("home")[-1].position == 0
    assert host.look().position == 0


def test_home_with_the_switch_closed_leaves_out_the_first_part(quiet_host):
    host = quiet_host().get_ready()
    before_us = host.controller.now_us

    host.order("q4 home 16000 400")

    # Up until it opens (a step), 200 steps further, and down again, at 400 steps/s
    taken_s = (host.notices(RestNotice)[-1].time - before_us) * 1e-6
    assert taken_s == pytest.approx(402 / 400, abs=0.01)


def test_a_switch_that_never_closes_is_fault_3_after_a_tenth_more(
    quiet_host, make_line
):
    host = quiet_host(fault="home_broken")
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    assert (rest.cause, rest.position) == ("fault", -70400)
    (fault,) = host.notices(FaultNotice)
    assert (fault.fault, fault.position) == (3, -70400)
    assert fault.number == rest.number - 1
    assert host.look().state == "held"
    assert host.ask("q3 rearm") == make_line("a3 rearm raw")
    assert host.ask("q4 tally") == make_line("a4 tally 0 0 3")


def test_a_switch_that_never_opens_is_fault_4_after_4000_steps(quiet_host):
    host = quiet_host(fault="home_stuck")
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 1600")

    assert rest.cause == "fault"
    assert host.notices(FaultNotice)[-1].fault == 4
    # It closed at -8000; the ramp from 16000 steps/s takes 160 steps more
    assert rest.position == -8000 - 160 + 4000


def test_a_switch_that_does_not_close_again_is_fault_3_after_4000_steps(quiet_host):
    host = quiet_host()
    host.ask("q1 hail 1")
    host.ask("q2 home 16000 400")
    while not host.look().inputs & 4:
        pass
    while host.look().inputs & 4:  # it opens: the last part is half a second away
        pass
    host.controller.bench.lose_steps(9999)

    rest = host.until_rest()

    assert rest.cause == "fault"
    assert host.notices(FaultNotice)[-1].fault == 3
    assert rest.position == -8000 + 1 + 200 - 4000


def test_go_arrives_when_the_closed_form_says(quiet_host):
    host = quiet_host().get_ready()
    words = f"q4 go 16000 8000 32000 0 0 {host.session}"
    begun_us = host.controller.now_us + _wire_us(words)

    rest = host.order("q4 go 16000 8000 32000 0 0")

    assert (rest.cause, rest.position) == ("there", 16000)
    # 10 mm at 5 mm/s and 20 mm/s2 (derived by hand)
    assert rest.time - begun_us == pytest.approx(2_250_000, abs=2)


def test_go_to_where_it_is_ends_at_once(quiet_host, make_line):
    host = quiet_host().get_ready()
    host.order("q4 go 800 1600 160000 0 0")

    data = host.ask("q5 go 800 1600 160000 0 0")

    first, second = data.splitlines(keepends=True)
    assert first == make_line("a5 go")
    assert b" rest 0 5 there 800 " in second
    assert host.look().state == "ready"


@pytest.mark.parametrize("overrun", [0, 1, 200, 4000])
def test_turning_rests_so_many_steps_after_the_edge(quiet_host, overrun):
    host = quiet_host(delay_ms="3").get_ready()

    rest = host.order(f"q4 go 45000 1600 160000 1 {overrun}")
    down = host.order(f"q5 go 400 1600 160000 1 {overrun}")

    on, off = host.edges()
    assert (on.level, rest.cause) == (True, "turn")
    assert rest.position == on.position + overrun
    assert (off.level, down.cause) == (False, "turn")
    assert down.position == off.position - overrun
    assert rest.number == on.number + 1


def test_too_fast_for_the_overrun_brakes_at_once(quiet_host):
    host = quiet_host().get_ready()

    rest = host.order("q4 go 45000 16000 160000 1 200")

    # 16000^2 / (2 * 160000) = 800 steps of braking
    assert rest.position - host.edges()[0].position in (800, 801)
    assert rest.cause == "turn"


def test_the_target_bounds_the_overrun(quiet_host):
    host = quiet_host().get_ready()
    edge_at = host.order("q4 go 45000 1600 160000 1 0").position
    host.order("q5 go 20000 16000 160000 0 0")

    rest = host.order(f"q6 go {edge_at + 50} 1600 160000 1 200")

    assert (rest.cause, rest.position) == ("turn", edge_at + 50)


def test_the_second_edge_counts_where_two_are_asked_for(quiet_host):
    host = quiet_host().get_ready()
    host.order("q4 go 45000 1600 160000 1 100")

    rest = host.order("q5 go 1000 16000 160000 2 0")

    assert (rest.cause, rest.position) == ("there", 1000)
    assert len(host.edges()) == 2


def test_the_look_at_the_last_step_counts(quiet_host):
    host = quiet_host().get_ready()
    edge_at = host.order("q4 go 45000 1600 160000 1 0").position
    host.order("q5 go 20000 16000 160000 0 0")

    rest = host.order(f"q6 go {edge_at} 1600 160000 1 200")

    assert (rest.cause, rest.position) == ("turn", edge_at)
    assert host.edges()[-1].number == rest.number - 1


def test_an_edge_that_comes_after_the_rest_does_not_count(quiet_host):
    host = quiet_host().get_ready()
    edge_at = host.order("q4 go 45000 1600 160000 1 0").position
    late = quiet_host(delay_ms="50").get_ready()

    rest = late.order(f"q4 go {edge_at} 1600 160000 1 200")
    late.wait(0.1)

    assert (rest.cause, rest.position) == ("there", edge_at)
    (edge,) = late.edges()
    assert edge.number == rest.number + 1
    assert edge.position == edge_at
    assert edge.time - rest.time == pytest.approx(50_000, abs=1)


def test_touch_stops_at_the_probe_without_a_ramp(quiet_host, make_line):
    host = quiet_host().get_ready()
    host.order("q4 go 46000 16000 160000 0 0")

    rest = host.order("q5 touch 50000 400")

    (edge,) = host.edges("probe")
    assert (edge.level, rest.cause) == (True, "touched")
    assert edge.position == rest.position
    assert edge.number == rest.number - 1
    assert host.look().inputs == 1 + 2 + 8 + 16 + 32
    assert host.look().state == "ready"
    assert host.ask("q6 touch 50000 400") == make_line("x6 no 12 0")
    assert host.ask("q7 go 50000 400 400 0 0") == make_line("x7 no 12 0")
    assert host.ask("q8 go 65000 400 400 0 0") == make_line("x8 no 9 1")  # before 12
    up = host.order("q9 go 40000 1600 1600 0 0")
    assert up.cause == "there"
    opened = host.edges("probe")[-1]
    assert (opened.level, opened.position) == (False, edge.position - 1)


def test_touch_that_meets_nothing_is_there(quiet_host):
    host = quiet_host().get_ready()
    host.order("q4 go 42000 16000 160000 0 0")

    rest = host.order("q5 touch 46000 1600")

    assert (rest.cause, rest.position) == ("there", 46000)


def test_contact_in_a_go_stops_at_once_and_holds(quiet_host, make_line):
    host = quiet_host().get_ready()

    rest = host.order("q4 go 60000 16000 160000 0 0")

    edge = host.edges("probe")[-1]
    assert (rest.cause, rest.position) == ("contact", edge.position)
    assert host.look().state == "held"
    assert host.ask("q5 rearm") == make_line("a5 rearm raw")


def test_the_home_switch_in_a_go_is_fault_5(quiet_host):
    host = quiet_host().get_ready()
    host.order("q4 go 8000 16000 160000 0 0")
    host.controller.bench.lose_steps(640)  # on the way up: the switch comes early
    host.order("q5 go 16000 16000 160000 0 0")

    rest = host.order("q6 go 400 16000 160000 0 0")

    assert (rest.cause, rest.position) == ("fault", 640)
    assert host.notices(FaultNotice)[-1].fault == 5
    assert len(host.edges("home")) == 1  # noticed in the last part of home only


def test_lost_steps_show_in_the_next_home(quiet_host):
    host = quiet_host(fault="lost_steps:2").get_ready()
    host.order("q4 go 16000 16000 160000 0 0")

    host.order("q5 home 16000 400")

    assert host.edges("home")[-1].position == 64


def test_the_stop_byte_stops_in_mid_move(quiet_host):
    host = quiet_host().get_ready()
    host.ask("q4 go 40000 1600 160000 0 0")
    at = host.look().position
    host.controller.receive(b"###")
    host.wait(0.05)

    rest = host.notices(RestNotice)[-1]
    assert (rest.request, rest.cause) == (4, "stopped")
    # What it goes while the answer to `look` and the stop byte are on the wire
    assert at <= rest.position < at + 1600 * 0.03
    assert host.look().state == "held"
    position = host.look().position
    host.wait(1.0)
    assert host.look().position == position


def test_the_stop_byte_acts_in_mid_line_and_drops_the_line(quiet_host, make_line):
    host = quiet_host().get_ready()
    whole = make_line(f"q4 go 40000 1600 160000 0 0 {host.session}")
    host.controller.receive(whole[:12] + b"#" + whole[12:])

    assert host.wait(0.1) == b""
    assert host.look().state == "held"
    assert host.look().position == 0
    assert host.ask("q5 tally") == make_line("a5 tally 0 0 0")
    assert host.ask("q6 rearm") == make_line("a6 rearm ready")  # at rest: home stays


@pytest.mark.parametrize("stop", [b"", b"#"])
def test_the_stop_byte_drops_requests_not_yet_begun(quiet_host, make_line, stop):
    host = quiet_host().get_ready()
    host.order("q4 go 800 1600 160000 0 0")
    host.stay(2000.0)  # so that `look` is answered by a long line
    host.ask("q0 hail 1")
    touch = make_line(f"q6 touch 400 9 {host.session}")
    lines = make_line("q4 look") + make_line("q5 tally") + touch

    # The first answer is on the wire, the second waits, the third has no room yet
    host.controller.receive(lines + stop)
    host.wait(0.3)
    host.until_rest() if not stop else host.wait(1.0)

    assert b"&a5 tally" in host.raw
    assert (b"&a6 touch" in host.raw) == (not stop)
    assert b"&x6" not in host.raw
    assert host.look().position == (800 if stop else 400)


def test_the_stop_byte_does_not_wait_for_what_comes_behind_it(quiet_host):
    host = quiet_host().get_ready()
    host.ask("q4 go 40000 1600 160000 0 0")

    host.controller.receive(b"#" + b"x" * 5000)
    begun = host.controller.now_us
    host.wait(1.0)

    rest = host.notices(RestNotice)[-1]
    assert rest.cause == "stopped"
    assert rest.time - begun <= 87  # one byte, or the step before it came


def test_the_stop_byte_during_home(quiet_host, make_line):
    host = quiet_host().get_ready()
    host.ask("q4 home 16000 400")
    host.controller.receive(b"#")
    host.wait(0.05)

    assert host.notices(RestNotice)[-1].cause == "stopped"
    assert host.ask("q5 rearm") == make_line("a5 rearm raw")


def test_silence_stops_a_motion_after_its_limit(quiet_host):
    host = quiet_host().get_ready()
    host.ask("q4 go 40000 1600 160000 0 0", seconds=0.0)
    host.wait(2.0)

    rest = host.notices(RestNotice)[-1]
    assert rest.cause == "silent"
    assert rest.position == 800  # 0.5 s at 1600 steps/s
    assert host.look().state == "held"


def test_any_sound_request_counts_against_silence_and_nothing_else(
    quiet_host, make_line
):
    refused = quiet_host().get_ready()
    refused.ask("q4 go 40000 1600 160000 0 0")
    damaged = quiet_host().get_ready()
    damaged.ask("q4 go 40000 1600 160000 0 0")

    echoed = quiet_host().get_ready()
    echoed.ask("q4 go 40000 1600 160000 0 0")

    for _ in range(10):
        refused.ask("q5 dance", seconds=0.3)
        damaged.controller.receive(b"&q0 look 0000\n")
        damaged.wait(0.3)
        echoed.controller.receive(make_line("a0 tally 0 0 0"))
        echoed.wait(0.3)

    assert refused.look().state == "moving"
    assert damaged.notices(RestNotice)[-1].cause == "silent"
    assert echoed.notices(RestNotice)[-1].cause == "silent"


def test_silence_at_rest_is_no_matter(quiet_host):
    host = quiet_host().get_ready()
    host.wait(1799.0)

    assert host.look().state == "ready"


def test_a_long_rest_unheard_takes_the_motor_its_current(quiet_host):
    host = quiet_host().get_ready()
    host.wait(1801.0)

    assert host.look().state == "raw"


def test_supply_lost_in_motion(quiet_host, make_line):
    host = quiet_host(fault="supply_lost:5").get_ready()
    host.order("q4 go 46000 1600 160000 0 0")

    rest = host.notices(RestNotice)[-1]
    assert rest.cause == "fault"
    assert host.notices(FaultNotice)[-1].fault == 6
    assert host.look().inputs & 8 == 0
    assert host.ask("q5 rearm") == make_line("a5 rearm raw")


def test_supply_lost_at_rest_keeps_home(quiet_host, make_line):
    host = quiet_host(fault="supply_lost:60").get_ready()
    host.wait(60.0)

    fault = host.notices(FaultNotice)[-1]
    assert (fault.fault, fault.time) == (6, 60_000_000)
    assert host.look().state == "held"
    assert host.ask("q5 rearm") == make_line("a5 rearm ready")


def _wire_us(body: str) -> float:
    return (len(body) + 7) * 10 / 115200 * 1e6
