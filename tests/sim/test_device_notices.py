"""Ring, recall, loss, wrap-around, restart, rate of the line."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import Notice, RestNotice, StartNotice
from sim.bench import Bench
from sim.device import Controller
from sim.machine import Machine, Mounting
from sim.presets import SENSORS, TARGETS

MOUNTING = Mounting(sensor=SENSORS["capacitive"], target=TARGETS["steel"])


def test_a_recalled_notice_follows_its_answer_as_it_was(quiet_host, make_line):
    host = quiet_host().get_ready()
    host.order("q4 go 45000 1600 160000 1 0")
    first = next(part for part in host.raw.splitlines(True) if b" out 1 " in part)
    edge = host.edges()[0]

    data = host.ask(f"q5 recall {edge.number}", seconds=0.05)

    assert data == make_line(f"a5 recall 0 {edge.number + 2}") + first


def test_what_is_not_in_the_ring_is_gone(quiet_host, make_line):
    host = quiet_host().get_ready()
    number = host.look().next_notice

    assert host.ask(f"q4 recall {number}") == make_line("x4 no 10 1")
    for _ in range(33):  # the ring holds 32
        host.order(f"q{10 + _} go 400 1600 9 0 0")
    assert host.ask("q50 recall 0") == make_line("x50 no 10 1")
    oldest = host.look().next_notice - 32
    assert f"&a51 recall {oldest} ".encode() in host.ask(f"q51 recall {oldest}")


def test_notices_that_the_wire_cannot_take_are_lost_and_counted(quiet_host):
    host = quiet_host(fault="chatter:0.1", noise_um="5").get_ready()

    rest = host.order("q4 go 45000 1600 160000 0 0")

    numbers = [notice.number for notice in host.notices(Notice)]
    missing = numbers[-1] + 1 - len(numbers)
    assert missing > 0
    assert rest.lost == missing
    host.ask("q5 tally")
    assert f" tally 0 {missing} 0 ".encode() in host.raw


def test_a_reply_goes_before_notices_that_wait(quiet_host):
    host = quiet_host(fault="chatter:0.1", noise_um="5").get_ready()
    host.ask("q4 go 45000 1600 160000 0 0")
    while not host.edges():
        host.ask("q0 look", seconds=0.1)

    # All the while the wire is full of edges, each some 4 ms long
    for number in range(5, 15):
        data = host.ask(f"q{number} tally", seconds=0.02)
        assert f"&a{number} tally".encode() in data
    assert len(host.edges()) > 20


def test_dropped_notices_can_be_recalled(quiet_host):
    host = quiet_host(fault="drop_notice:1")
    host.ask("q1 hail 1")
    host.ask("q2 home 16000 400")
    for _ in range(100):
        host.ask("q0 look", seconds=0.1)

    assert host.notices(RestNotice) == []
    host.ask("q3 recall 2", seconds=0.05)
    assert host.notices(RestNotice)[-1].cause == "homed"


def test_notice_numbers_wrap(hold):
    host = hold(Controller(Bench(Machine(), MOUNTING), first_notice=65535)).get_ready()

    numbers = [host.edges("home")[0].number, host.notices(RestNotice)[0].number]

    assert numbers == [65535, 0]
    assert host.look().next_notice == 1
    host.ask("q9 recall 65535", seconds=0.05)
    assert host.edges("home")[-1] == host.edges("home")[0]


def test_the_clock_wraps(hold):
    bench = Bench(Machine(), MOUNTING)
    host = hold(Controller(bench, clock_start_us=2**32 - 1_000_000))
    host.ask("q1 hail 1", seconds=0.9)
    before = host.look().time
    host.wait(0.2)

    after = host.look().time

    assert before > 2**32 - 100_000
    assert after < 200_000
    host.order("q2 home 16000 400")
    assert host.notices(RestNotice)[-1].time < 10_000_000


def test_a_restart_forgets_all_but_changes_boot(quiet_host, make_line):
    host = quiet_host(fault="restart_at:30").get_ready()
    boot = host.controller.boot
    host.wait(30.0)

    start = host.notices(StartNotice)[-1]
    assert (start.number, start.boot, start.reason) == (0, boot + 1, "brownout")
    assert host.ask("q4 look") == make_line("x4 no 16 0")
    host.ask("q5 hail 1")
    look = host.look()
    assert (look.state, look.position, look.boot) == ("raw", 0, boot + 1)
    assert look.next_notice == 1
    assert look.time < 10_000_000


def test_a_restart_in_mid_move_stops_it(quiet_host):
    host = quiet_host().get_ready()
    host.ask("q4 go 40000 1600 160000 0 0")
    host.wait(0.2)
    host.controller.restart()
    host.ask("q1 hail 1")

    rest = host.order("q2 home 16000 400")

    # The count began anew in mid-move, about 0.2 s at 1600 steps/s above home
    assert rest.cause == "homed"
    assert -400 < host.edges("home")[-1].position < -300


def test_rate_changes_after_the_last_bit_of_its_answer(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    assert host.ask("q2 rate 250000") == make_line("a2 rate 250000")

    tally = (len(make_line("q3 tally")) + len(make_line("a3 tally 0 0 0"))) * 10
    assert host.ask("q3 tally", seconds=tally / 250000 - 1e-5) == b""
    assert host.wait(2e-5) == make_line("a3 tally 0 0 0")
    host.wait(2.0)  # it stays, once a sound line came
    assert host.ask("q4 tally", seconds=tally / 250000 + 1e-5)
    assert host.ask("q5 rate 115200") == make_line("a5 rate 115200")
    assert host.ask("q6 tally", seconds=tally / 115200 - 1e-5) == b""


def test_rate_goes_back_where_no_sound_line_comes(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    host.ask("q2 rate 250000")
    host.wait(0.6)

    tally = (len(make_line("q3 tally")) + len(make_line("a3 tally 0 0 0"))) * 10
    assert host.ask("q3 tally", seconds=tally / 115200 - 1e-5) == b""
    assert host.wait(2e-5) == make_line("a3 tally 0 0 0")


@pytest.mark.parametrize("rate", ["", "q9 rate 250000"])
def test_the_next_event_is_never_passed_over(quiet_host, rate):
    """Jumping from event to event says the same as small steps of time."""
    jumps, steps = quiet_host(delay_ms="3"), quiet_host(delay_ms="3")
    for host in (jumps, steps):
        host.get_ready()
        if rate:
            host.ask(rate)
        host.ask("q4 go 45000 16000 160000 1 200", seconds=0.0)
    end_us = jumps.controller.now_us + 490_000

    while (event := jumps.controller.next_event_us()) is not None and event < end_us:
        jumps.controller.advance_to(event)
    jumps.controller.advance_to(end_us)
    for time_us in range(steps.controller.now_us, end_us + 1, 1000):
        steps.controller.advance_to(time_us)

    assert jumps.wait(0.0) == steps.wait(0.0)
    assert jumps.look() == steps.look()
