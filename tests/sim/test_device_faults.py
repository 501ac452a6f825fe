"""Each named fault does what it says."""

from __future__ import annotations

import numpy as np
import pytest

from firmware_protocol.fields import Message
from firmware_protocol.messages import Notice
from sim.faults import MODES, Garbler


def test_garbled_bytes_to_the_host_are_dropped_lines(make_host):
    host = make_host(seed="1", fault="garble_to_host:0.01")
    host.ask("q1 hail 1")

    for _ in range(200):
        host.ask("q0 tally", seconds=0.05)

    assert 0.05 < host.receiver.dropped / 200 < 0.4  # 1 - 0.99**20 is 0.18


def test_garbled_bytes_from_the_host_are_counted_and_not_answered(make_host):
    host = make_host(seed="1", fault="garble_to_controller:0.01")
    for _ in range(20):
        host.ask("q1 hail 1")
    lines = host.raw.count(b"\n")

    for _ in range(200):
        host.ask("q0 tally", seconds=0.05)

    answered = host.raw.count(b"\n") - lines
    assert 130 < answered < 195  # of 200, each of 15 bytes: 0.99**15 is 0.86


@pytest.mark.parametrize("share", [0.0, 0.1, 1.0])
def test_the_garbler_flips_one_bit_of_that_share(share):
    data = bytes(10_000)

    garbled = Garbler(share, 1, 1).garble(data)

    hit = sum(byte != 0 for byte in garbled)
    assert hit / len(data) == pytest.approx(share, abs=4 * 0.3 / 100)
    assert all(byte.bit_count() <= 1 for byte in garbled)


def test_dropped_notices_leave_gaps(make_host):
    host = make_host(fault="drop_notice:0.5")
    host.ask("q1 hail 1")
    for number in range(2, 42):
        host.ask(f"q{number} home 16000 400", seconds=0.1)
        for _ in range(40):
            host.ask("q0 look", seconds=0.1)

    numbers = [notice.number for notice in host.notices(Notice)]
    made = host.look().next_notice

    assert made == 81
    assert 20 < len(numbers) < 60
    assert numbers == sorted(set(numbers))


def test_silent_never_answers(make_host):
    host = make_host(fault="silent")
    assert host.ask("q1 hail 1", seconds=10.0) == b""


def test_nonsense_answers_but_never_with_a_line(make_host):
    host = make_host(fault="nonsense")
    for _ in range(50):
        assert host.ask("q1 hail 1")
    assert not any(isinstance(m, Message) for m in host.heard)


def test_too_new_speaks_9_only(make_host, make_line):
    host = make_host(fault="too_new")
    host.wait(0.1)
    assert host.ask("q1 hail 1") == make_line("x1 no 4 1")
    assert host.ask("q2 look") == make_line("x2 no 16 0")
    assert b"&a3 hail 9 0 " in host.ask("q3 hail 9")


def test_hang_up_ends_the_link(make_host):
    host = make_host(fault="hang_up:60").get_ready()
    host.wait(60.0)
    assert host.controller.hung_up
    assert host.ask("q9 look", seconds=1.0) == b""
    assert host.controller.next_event_us() is None


@pytest.mark.parametrize(("fault", "level"), [("sensor_dead", 0), ("sensor_on", 1)])
def test_a_sensor_that_does_not_change(make_host, fault, level):
    host = make_host(fault=fault).get_ready()
    host.order("q4 go 46000 16000 160000 0 0")
    assert host.look().inputs & 1 == level
    host.order("q5 go 500 16000 160000 0 0")
    assert host.look().inputs & 1 == level
    assert host.edges() == []


def test_chatter_makes_many_edges(make_host):
    host = make_host(fault="chatter").get_ready()
    host.order("q4 go 40000 1600 160000 0 0")
    levels = [edge.level for edge in host.edges()]
    assert len(levels) > 10
    assert levels == [index % 2 == 0 for index in range(len(levels))]
    # The output falls later than it rises: a short pause in it never comes out
    times = [edge.time for edge in host.edges()]
    assert times == sorted(set(times))


@pytest.mark.strikes
def test_a_probe_that_never_closes_lets_the_target_press(make_host):
    host = make_host(fault="probe_dead").get_ready()
    rest = host.order("q4 go 60000 16000 160000 0 0")
    assert rest.cause == "there"
    assert host.edges("probe") == []
    assert host.look().inputs & 1


def test_drift_moves_the_operate_distance(quiet_host):
    host = quiet_host(fault="drift:0.02").get_ready()
    edges = []
    for _ in range(2):
        host.order("q4 go 30000 16000 160000 0 0")
        host.order("q5 go 40000 1600 160000 1 100")
        edges.append(host.edges()[-1].position)
        host.stay(3000.0)

    # 8 mm by 2 per cent; the first sweep comes some seconds after power-on, when
    # 1 - exp(-t / 300 s) of it has happened already
    moved_mm = (edges[0] - edges[1]) / 1600
    begun = 1.0 - np.exp(-20.0 / 300.0)
    assert 0.16 * (1.0 - begun) < moved_mm < 0.16 + 1 / 1600


def test_every_fault_has_words():
    for mode in MODES.values():
        assert mode.does
        assert mode.low <= mode.default <= mode.high
