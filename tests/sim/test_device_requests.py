"""Requests and refusals, byte for byte; the numbers of clauses are SPEC.md's."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import Ability, RestNotice, Trait
from sim.bench import Bench
from sim.device import Controller
from sim.machine import Machine, Mounting
from sim.presets import SENSORS, TARGETS
from sim.traits import Traits

MOUNTING = Mounting(sensor=SENSORS["capacitive"], target=TARGETS["steel"])


def test_power_on_sends_the_start_notice_and_nothing_else(make_host, make_line):
    host = make_host(seed="7")

    data = host.wait(1.0)

    assert data == make_line(f"n0 start 0 {host.controller.boot} power")


def test_everything_but_hail_is_refused_before_the_greeting(make_host, make_line):
    host = make_host()
    host.wait(0.1)

    assert host.ask("q1 look") == make_line("x1 no 16 0")
    assert host.ask("q2 trait 999") == make_line("x2 no 16 0")  # 16 before 3
    assert host.ask("q3 look 1") == make_line("x3 no 16 0")  # 16 before 2
    assert host.ask("q4 dance") == make_line("x4 no 1 0")  # 1 before 16
    assert host.ask("q0 home 16000 400") == make_line("x0 no 13 0")  # 13 before 16


def test_hail_tells_version_start_firmware_and_rig(make_host, make_line):
    host = make_host(seed="7")
    host.wait(0.1)
    boot = host.controller.boot

    told = f"hail 1 0 {boot} sim-0.1.0 sim-7"
    first = boot * 40503 + 1

    assert host.ask("q17 hail 1") == make_line(f"a17 {told} {first % 65536}")
    assert host.ask("q0 hail 1") == make_line(f"a0 {told} {(first + 1) % 65536}")
    assert host.ask("q18 hail 2") == make_line("x18 no 4 1")


def test_a_request_repeated_is_answered_again_and_not_carried_out(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    first = host.ask("q2 home 16000 400")

    again = host.ask("q2 home 16000 400")
    host.until_rest()
    after = host.ask("q2 home 16000 400")
    host.wait(0.4)

    assert first == again == after == make_line("a2 home")
    assert len(host.notices(RestNotice)) == 1
    assert host.look().state == "unfenced"


def test_a_look_repeated_is_a_new_one(make_host):
    host = make_host()
    host.ask("q1 hail 1")
    first = host.ask("q2 look")
    host.wait(1.0)

    assert host.ask("q2 look") != first


def test_the_number_of_an_order_is_above_that_of_the_last(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    host.ask("q7 rearm")

    assert host.ask("q7 rate 115200") == make_line("x7 no 14 0")
    assert host.ask("q6 rearm") == make_line("x6 no 14 0")
    assert host.ask("q7 dance") == make_line("x7 no 1 0")  # 1 before 14
    assert host.ask("q7 rearm") == make_line("a7 rearm raw")  # still remembered
    assert host.ask("q255 rearm") == make_line("a255 rearm raw")


def test_a_refusal_is_remembered_too(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")

    assert host.ask("q2 fence 400 500") == make_line("x2 no 5 0")
    host.controller.receive(b"#")
    assert host.ask("q2 fence 400 500") == make_line("x2 no 5 0")
    assert host.ask("q3 fence 400 500") == make_line("x3 no 8 0")


def test_each_greeting_begins_a_session(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    old = f"rearm {host.session}"
    host.ask_bare(f"q9 {old}")
    host.ask("q1 hail 1")

    assert host.ask_bare(f"q10 {old}") == make_line("x10 no 18 0")
    assert host.ask("q1 rearm") == make_line("a1 rearm raw")
    assert host.ask("q1 hail 9") == make_line("x1 no 4 1")
    assert host.ask("q2 rearm") == make_line("a2 rearm raw")


# What the queue of a serial server does with the orders of a host that has died
@pytest.mark.parametrize("greeted_by_another", [False, True])
def test_a_late_copy_of_a_go_moves_nothing(make_host, make_line, greeted_by_another):
    host = make_host().get_ready()
    late = f"q4 go 9000 16000 400000 0 0 {host.session}"
    host.wait(0.51)
    place = host.look().position
    if greeted_by_another:
        host.ask("q1 hail 1")
        host.ask("q2 fence 400 60000")

    for _ in range(5):
        assert host.ask_bare(late, seconds=0.3) == make_line("x4 no 18 0")

    assert host.look().position == place
    assert host.look().state == "ready"


def test_a_session_ends_with_half_a_second_of_silence(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    order = f"rearm {host.session}"
    host.wait(0.47)

    assert host.ask_bare(f"q2 {order}") == make_line("a2 rearm raw")
    host.wait(0.5)
    host.look()
    assert host.ask_bare(f"q3 {order}") == make_line("x3 no 18 0")
    assert host.ask_bare(f"q2 {order}") == make_line("a2 rearm raw")  # the reply again


def test_number_zero_is_for_reading_and_not_remembered(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    first = host.ask("q0 look")
    host.wait(0.01)

    assert host.ask("q0 look") != first
    for verb in ("fence 0 1", "home 1 1", "go 0 1 1 0 0", "touch 0 1", "rearm"):
        assert host.ask(f"q0 {verb}") == make_line("x0 no 13 0")
    assert host.ask("q0 recall 0") == make_line("x0 no 13 0")
    assert host.ask("q0 rate 115200") == make_line("x0 no 13 0")
    assert host.ask("q0 trait 0") == make_line("a0 trait 0 1600000")
    assert host.ask("q0 tally") == make_line("a0 tally 0 0 0")


def test_every_trait_is_answered_and_others_are_refused(make_host, make_line):
    host = make_host(seed="7")
    host.ask("q1 hail 1")
    expected = [1600000, 400, 64000, 40000, 800000, 4800, 32, 500, 127, 1000, 250]
    expected += [30, 50, 1800, 200, 4000, 0, 6, 0]
    expected += [int.from_bytes(four, "little") for four in (b"sim-", b"7", b"", b"")]
    expected += [15, 3, 10000, 30000, 24000, 0]

    for index, value in enumerate(expected):
        body = f"q{index + 2} trait {index}"
        assert host.ask(body) == make_line(f"a{index + 2} trait {index} {value}")
    assert len(expected) == len(Trait)
    assert host.ask("q99 trait 29") == make_line("x99 no 3 1")
    assert expected[8] & Ability.SIMULATED


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        ("dance", "no 1 0"),
        ("look 1", "no 2 0"),
        ("fence 1", "no 2 0"),
        ("trait 256", "no 3 1"),
        ("fence 0 2147483648", "no 3 2"),
        ("fence 0 +5", "no 3 2"),
        ("fence 00 5", "no 3 1"),
        ("fence -0 5", "no 3 1"),
        ("go 0 0 1 0 0", "no 3 2"),
        ("go 0 1 1 256 0", "no 3 4"),
        ("rate 9600", "no 3 1"),
        ("rate 200000", "no 3 1"),
        ("fence 5 5", "no 3 2"),
    ],
)
def test_what_cannot_be_understood_is_refused_with_its_argument(
    make_host, make_line, words, refusal
):
    host = make_host()
    host.ask("q1 hail 1")

    assert host.ask(f"q2 {words}") == make_line(f"x2 {refusal}")


def test_raw_takes_home_only(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")

    assert host.ask("q2 fence 0 100") == make_line("x2 no 5 0")
    assert host.ask("q3 go 0 100 100 0 0") == make_line("x3 no 5 0")
    assert host.ask("q4 touch 0 100") == make_line("x4 no 5 0")
    assert host.ask("q5 rearm") == make_line("a5 rearm raw")
    assert host.ask("q6 home 40001 1") == make_line("x6 no 15 1")
    assert host.ask("q7 home 1 4801") == make_line("x7 no 15 2")
    assert host.ask("q8 home 16000 400") == make_line("a8 home")


def test_seeking_takes_nothing_that_moves(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    host.ask("q2 home 1600 400")
    verbs = ["fence 0 100", "home 9 9", "go 0 9 9 0 0", "touch 0 9", "rearm"]

    for number, verb in enumerate([*verbs, "rate 115200"], start=3):
        assert host.ask(f"q{number} {verb}") == make_line(f"x{number} no 7 0")
    assert host.look().state == "seeking"
    assert host.ask("q20 go 0 99999 9 0 0") == make_line("x20 no 7 0")  # 7 before 15


def test_unfenced_and_ready(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")
    host.order("q2 home 16000 400")

    assert host.look().state == "unfenced"
    assert host.ask("q3 go 0 100 100 0 0") == make_line("x3 no 6 0")
    assert host.ask("q4 touch 0 100") == make_line("x4 no 6 0")
    assert host.ask("q5 rearm") == make_line("a5 rearm unfenced")
    assert host.ask("q6 fence 399 1000") == make_line("x6 no 9 1")
    assert host.ask("q7 fence 400 64001") == make_line("x7 no 9 2")
    assert host.ask("q8 fence 400 64000") == make_line("a8 fence 400 64000")
    assert host.look().state == "ready"
    assert host.ask("q9 rearm") == make_line("a9 rearm ready")
    assert host.ask("q10 fence 500 1000") == make_line("a10 fence 500 1000")
    assert host.ask("q11 go 1001 100 100 0 0") == make_line("x11 no 9 1")
    assert host.ask("q12 go 499 100 100 0 0") == make_line("x12 no 9 1")
    assert host.ask("q13 touch 1001 100") == make_line("x13 no 9 1")
    assert host.ask("q14 go 1001 40001 1 0 0") == make_line(
        "x14 no 15 2"
    )  # 15 before 9
    assert host.ask("q15 go 600 40000 800001 0 0") == make_line("x15 no 15 3")
    assert host.ask("q16 touch 600 4801") == make_line("x16 no 15 2")


def test_a_new_home_gives_up_the_soft_limits(make_host, make_line):
    host = make_host().get_ready()

    host.order("q4 home 16000 400")

    assert host.look().state == "unfenced"
    assert host.ask("q5 go 100 100 100 0 0") == make_line("x5 no 6 0")


def test_held_takes_reading_and_rearm_only(make_host, make_line):
    host = make_host().get_ready()
    host.controller.receive(b"#")
    host.wait(0.01)

    assert host.look().state == "held"
    for number, verb in enumerate(
        ["fence 0 9", "home 9 9", "go 0 9 9 0 0", "touch 0 9"]
    ):
        assert host.ask(f"q{number + 10} {verb}") == make_line(f"x{number + 10} no 8 0")
    assert host.ask("q20 rate 115200") == make_line("a20 rate 115200")
    assert host.ask("q21 rearm") == make_line("a21 rearm ready")


def test_no_probe_and_no_fast_rate_are_error_11(hold, make_line):
    traits = Traits(abilities=Ability.SIMULATED)
    host = hold(Controller(Bench(Machine(), MOUNTING), traits=traits)).get_ready()

    assert host.ask("q4 touch 99999 99999") == make_line("x4 no 11 0")  # before 15, 9
    assert host.ask("q5 rate 250000") == make_line("x5 no 11 0")
    assert host.ask("q6 rate 115200") == make_line("a6 rate 115200")
    assert host.ask("q7 trait 8") == make_line("a7 trait 8 8")


@pytest.mark.parametrize(
    "damage",
    [
        b"&q2 look 0000\n",
        b"&q2 look\n",
        b"&q2 lo\x80ok 0000\n",
        b"&" + b"q" * 64 + b"\n",
        b"&q2 lo",  # broken off by the next line's start
    ],
)
def test_a_damaged_line_is_counted_and_not_answered(make_host, make_line, damage):
    host = make_host()
    host.ask("q1 hail 1")

    host.controller.receive(damage)

    assert host.wait(0.1) == b""
    assert host.ask("q3 tally") == make_line("a3 tally 1 0 0")


def test_bytes_outside_a_line_are_passed_over(make_host, make_line):
    host = make_host()
    host.ask("q1 hail 1")

    host.controller.receive(b"ok 77\r\n\x00\xff" + make_line("q2 tally"))

    assert host.wait(0.1) == make_line("a2 tally 0 0 0")


def test_a_sound_line_that_is_no_request_is_counted_and_not_answered(
    make_host, make_line
):
    host = make_host()
    host.ask("q1 hail 1")

    host.controller.receive(make_line("a2 home") + make_line("q256 look"))

    assert host.wait(0.1) == b""
    assert host.ask("q3 tally") == make_line("a3 tally 2 0 0")


def test_two_outstanding_requests_are_both_answered_in_order(make_host):
    host = make_host()
    host.ask("q1 hail 1")

    data = host.ask("q2 look", "q3 tally", seconds=0.1)

    assert [part[:8] for part in data.splitlines()] == [b"&a2 look", b"&a3 tall"]


def test_more_requests_than_allowed_are_dropped_and_counted(make_host):
    host = make_host()
    host.ask("q1 hail 1")

    # Each answer is three times as long as its request, so that they pile up
    data = host.ask(*["q0 look"] * 40, seconds=1.0)

    answered = data.count(b"&a0 look")
    assert 10 < answered < 20
    assert f"&a2 tally {40 - answered} 0 0 ".encode() in host.ask("q2 tally")


def test_a_reply_takes_the_wire_time_of_its_bytes(make_host):
    host = make_host()
    host.ask("q1 hail 1")
    # 14 bytes out and 19 back at 10 bits each, 115200 bits/s
    wire_s = (len(b"&q2 tally 0000\n") + len(b"&a2 tally 0 0 0 0000\n")) * 10 / 115200

    assert host.ask("q2 tally", seconds=wire_s - 1e-5) == b""
    assert host.wait(2e-5).startswith(b"&a2 tally")
