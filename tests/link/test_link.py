"""The link against a scripted controller: greeting, requests, refusals, stop."""

from __future__ import annotations

import threading
from itertools import pairwise

import pytest

from firmware_protocol.messages import (
    Ability,
    Answer,
    ErrorCode,
    FenceAnswer,
    FenceRequest,
    GoAnswer,
    GoRequest,
    LookAnswer,
    LookRequest,
    TallyAnswer,
    TallyRequest,
)
from rig.errors import (
    LinkError,
    NotARig,
    ProtocolTooNew,
    ReplyTimeout,
    RequestRefused,
    RigRestarted,
    Stopped,
)
from rig.link.link import (
    GREETING_TIMEOUT_S,
    TRIES_S,
    Link,
)
from tests.patience import PATIENCE_S

from .conftest import ScriptedPort, line

GO = {"target": 9000, "speed": 1600, "acceleration": 160_000, "edges": 0, "overrun": 0}


def check_error(error: LinkError) -> None:
    """One sentence, no more lines, with a hint and the exit status of the rig."""
    assert "\n" not in str(error)
    assert str(error)
    assert error.exit_status == 3


# ---------------------------------------------------------------------- greeting


def test_greeting_reads_what_the_rig_says_of_itself(port: ScriptedPort) -> None:
    traits = Link(port).greet()

    assert traits.rig_id == "bench-2"
    assert traits.firmware_version == "0.1.0"
    assert traits.protocol_version == "1.0"
    assert traits.boot_number == 212
    assert traits.steps_per_mm == 1600.0
    assert (traits.travel_low_steps, traits.travel_high_steps) == (400, 64_000)
    assert traits.speed_limit_steps_s == 40_000
    assert traits.acceleration_limit_steps_s2 == 800_000
    assert traits.start_speed_steps_s == 1600
    assert traits.silence_limit_s == 0.5
    assert traits.abilities == Ability.TOUCH_PROBE
    assert not traits.simulated


def test_greeting_goes_on_while_a_board_is_still_starting(port: ScriptedPort) -> None:
    for _ in range(8):
        port.then()
    port.say(b"\x00\xfe garbage of a boot loader \r\n")

    assert Link(port).greet().rig_id == "bench-2"
    assert port.requests()[:9] == ["hail 1"] * 9


def test_nobody_there_is_told_as_such(port: ScriptedPort) -> None:
    for _ in range(40):
        port.then()

    with pytest.raises(NotARig, match="gives no answer to the greeting") as caught:
        Link(port).greet()

    check_error(caught.value)
    assert "powered" in caught.value.hint
    assert port.now_s() == pytest.approx(GREETING_TIMEOUT_S, abs=0.35)


def test_something_else_there_is_told_as_such(port: ScriptedPort) -> None:
    for _ in range(40):
        port.then()
    port.say(b"login: \r\n", after_s=0.5)

    with pytest.raises(NotARig, match="but not as a rig") as caught:
        Link(port).greet()

    check_error(caught.value)
    assert "gapsweep rigs" in caught.value.hint


def test_an_echo_of_our_own_words_is_not_a_rig(port: ScriptedPort) -> None:
    for _ in range(40):
        port.then("q{n} {w} 1")

    with pytest.raises(NotARig, match="but not as a rig"):
        Link(port).greet()


def test_a_later_major_version_is_told_as_such(port: ScriptedPort) -> None:
    port.then(f"x{{n}} no {int(ErrorCode.OTHER_MAJOR)} 1")

    with pytest.raises(ProtocolTooNew) as caught:
        Link(port).greet()

    check_error(caught.value)
    assert "does not speak major version 1" in str(caught.value)
    assert "update" in caught.value.hint


def test_fields_that_a_later_minor_version_adds_are_passed_over(
    port: ScriptedPort,
) -> None:
    port.then("a{n} hail 1 4 212 0.9.0 bench-2 7 more and-more")

    assert Link(port).greet().protocol_version == "1.4"


def test_notices_from_before_the_greeting_are_left_alone(port: ScriptedPort) -> None:
    port.next_notice = 57
    link = Link(port)
    link.greet()
    port.say(line("n56 edge 0 out 1 10 10"))
    port.say(line("n57 edge 0 out 0 20 20"))

    notices = [link.next_notice(0.1) for _ in range(3)]

    assert [getattr(n, "number", None) for n in notices] == [None, 57, None]
    assert "recall 56" not in port.requests()


# -------------------------------------------------------------------- fast rate


def test_the_line_is_quickened_where_both_sides_can(port: ScriptedPort) -> None:
    port.has_rate, port.abilities = True, int(Ability.FAST_RATE)

    Link(port).greet()

    assert port.rates == [250_000]
    assert port.requests()[-2:] == ["rate 250000 1", "look"]


def test_a_link_without_a_rate_is_not_quickened(port: ScriptedPort) -> None:
    port.abilities = int(Ability.FAST_RATE)

    Link(port).greet()

    assert port.rates == []
    assert not any(words.startswith("rate") for words in port.requests())


def test_a_fast_line_that_does_not_answer_goes_back_to_the_slow_one(
    port: ScriptedPort,
) -> None:
    port.has_rate, port.abilities = True, int(Ability.FAST_RATE)
    port.deaf_at_bits_s = 250_000

    Link(port).greet()

    assert port.rates == [250_000, 115_200]
    # The rate is asked for once: a repeat would be answered and not carried out
    assert port.requests().count("rate 250000 1") == 1
    assert port.requests()[-1] == "hail 1"


def test_a_restart_is_found_at_the_slow_rate(port: ScriptedPort) -> None:
    port.has_rate, port.abilities = True, int(Ability.FAST_RATE)
    link = Link(port)
    link.greet()
    port.deaf_at_bits_s, port.boot = 250_000, 213

    with pytest.raises(RigRestarted):
        link.look()

    assert port.rates == [250_000, 115_200]


def test_a_fast_line_that_falls_silent_for_good_is_a_timeout(
    port: ScriptedPort,
) -> None:
    port.has_rate, port.abilities = True, int(Ability.FAST_RATE)
    link = Link(port)
    link.greet()
    for _ in range(40):
        port.then()

    with pytest.raises(ReplyTimeout):
        link.look()


# --------------------------------------------------------------------- requests


def test_a_lost_answer_is_asked_for_once_more_with_the_same_bytes(
    port: ScriptedPort, link: Link
) -> None:
    port.then()

    answer = link.request(GoRequest, GoAnswer, **GO)

    assert len(port.sent) == 2
    assert port.sent[0] == port.sent[1]
    assert answer.number == int(port.sent[0].split()[0][2:])


def test_no_answer_to_any_try_is_a_timeout_in_one_sentence(
    port: ScriptedPort, link: Link
) -> None:
    for _ in TRIES_S:
        port.then()
    before_s = port.now_s()

    with pytest.raises(ReplyTimeout, match="did not answer `fence`") as caught:
        link.request(FenceRequest, FenceAnswer, low=400, high=500)

    check_error(caught.value)
    assert "cable" in caught.value.hint
    assert len(port.sent) == len(TRIES_S)
    assert port.now_s() - before_s == pytest.approx(sum(TRIES_S))


def test_three_tries_fall_within_the_silence_that_stops_a_motion(
    port: ScriptedPort, link: Link
) -> None:
    silence_s = link.greet().silence_limit_s
    port.sent.clear()
    at_s: list[float] = []
    port.on_read = lambda: at_s.append(port.now_s()) if len(port.sent) == 3 else None
    port.then()
    port.then()
    asked_s = port.now_s()

    link.look()

    # A look is due a fifth of that silence after the one before
    assert min(at_s) - asked_s < silence_s - silence_s / 5


def test_a_look_is_asked_for_again_under_a_fresh_number(
    port: ScriptedPort, link: Link
) -> None:
    port.then()

    link.look()

    assert len(port.sent) == 2
    assert port.sent[0] != port.sent[1]
    assert port.requests() == ["look", "look"]


def test_the_answer_to_the_first_look_counts_while_a_second_is_outstanding(
    port: ScriptedPort, link: Link
) -> None:
    port.then((0.15, "a{n} look ready 4711 73512345 8 1 212"))
    port.then()

    assert link.look().position == 4711
    assert len(port.sent) == 2


def test_a_damaged_answer_is_no_answer(port: ScriptedPort, link: Link) -> None:
    link.look()
    number = int(port.sent.pop().split()[0][2:]) + 1
    port.then()
    bad = bytearray(line(f"a{number} look ready 4800 73512345 8 1 212"))
    bad[10] ^= 0x01
    port.say(bytes(bad), after_s=0.01)

    answer = link.request(LookRequest, LookAnswer)

    assert answer.position == 4800
    assert link.damaged_lines == 1
    assert len(port.sent) == 2


def test_late_answers_are_passed_over(port: ScriptedPort, link: Link) -> None:
    # The first answer comes after the repeat of its request was answered
    port.then((0.15, "a{n} tally 1 2 3"))
    port.then((0.001, "a{n} tally 0 0 0"))
    port.then((0.08, "a{n} tally 7 7 7"))
    first = link.request(TallyRequest, TallyAnswer)

    second = link.request(TallyRequest, TallyAnswer)

    assert (first.dropped, first.lost, first.fault) == (0, 0, 0)
    assert (second.dropped, second.lost, second.fault) == (7, 7, 7)
    assert len(port.sent) == 3


def test_an_answer_to_something_else_is_not_taken(
    port: ScriptedPort, link: Link
) -> None:
    port.then("a{n} rearm ready")

    with pytest.raises(NotARig, match="answered `look` with `rearm`") as caught:
        link.request(LookRequest, LookAnswer)

    check_error(caught.value)


def test_readings_are_numbered_round_and_round_above_all_orders(
    port: ScriptedPort, link: Link
) -> None:
    for _ in range(600):
        link.look()

    numbers = [int(data.split()[0][2:]) for data in port.sent]
    assert set(numbers) == set(range(128, 256))
    assert all(b == (a + 1 if a < 255 else 128) for a, b in pairwise(numbers))


def test_a_number_that_the_wire_cannot_carry_never_leaves_the_house(
    port: ScriptedPort, link: Link
) -> None:
    with pytest.raises(LinkError, match="cannot be asked for this") as caught:
        link.request(GoRequest, GoAnswer, **{**GO, "speed": 2_000_000})

    check_error(caught.value)
    assert port.sent == []


# --------------------------------------------------------------------- refusals


# NO_GREETING means a restart, see below; for OLD_SESSION see test_sessions.py
@pytest.mark.parametrize(
    "error", sorted(set(ErrorCode) - {ErrorCode.NO_GREETING, ErrorCode.OLD_SESSION})
)
def test_every_refusal_is_told_in_words(
    port: ScriptedPort, link: Link, error: ErrorCode
) -> None:
    port.then(f"x{{n}} no {int(error)} 2")

    with pytest.raises(RequestRefused) as caught:
        link.request(GoRequest, GoAnswer, **GO)

    check_error(caught.value)
    assert caught.value.code == error
    assert caught.value.argument == 2
    assert "refuses `go`: it " in str(caught.value)


def test_an_error_that_a_later_version_brings_keeps_its_number(
    port: ScriptedPort, link: Link
) -> None:
    port.then("x{n} no 200 0")

    with pytest.raises(RequestRefused, match="gives error 200"):
        link.request(GoRequest, GoAnswer, **GO)


def test_a_refusal_is_not_asked_for_again(port: ScriptedPort, link: Link) -> None:
    port.then(f"x{{n}} no {int(ErrorCode.BUSY)} 0")

    with pytest.raises(RequestRefused):
        link.request(GoRequest, GoAnswer, **GO)

    assert len(port.sent) == 1


# ---------------------------------------------------------------------- restart


def test_a_start_notice_with_another_boot_number_is_a_restart(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line("n0 start 0 213 brownout"))

    with pytest.raises(RigRestarted, match="restarted") as caught:
        link.next_notice(0.1)

    check_error(caught.value)
    assert "supply" in caught.value.hint


def test_another_boot_number_in_a_look_is_a_restart(
    port: ScriptedPort, link: Link
) -> None:
    port.boot = 9

    with pytest.raises(RigRestarted):
        link.look()


def test_a_controller_that_wants_a_greeting_has_restarted(
    port: ScriptedPort, link: Link
) -> None:
    port.then(f"x{{n}} no {int(ErrorCode.NO_GREETING)} 0")

    with pytest.raises(RigRestarted):
        link.request(GoRequest, GoAnswer, **GO)


def test_its_own_start_notice_is_no_restart(port: ScriptedPort, link: Link) -> None:
    port.say(line("n0 start 0 212 power"))

    assert link.next_notice(0.1) is None


# ------------------------------------------------------------------------- stop


def test_stop_is_written_three_times_in_one_go(port: ScriptedPort, link: Link) -> None:
    link.stop()

    assert port.sent == [b"###"]
    assert link.stop_asked


def test_stop_goes_out_while_the_owner_waits(port: ScriptedPort, link: Link) -> None:
    waiting, stopped = threading.Event(), threading.Event()

    def wait_for_the_stop() -> None:
        waiting.set()
        assert stopped.wait(PATIENCE_S)

    port.then((0.1, "a{n} tally 0 0 0"))
    port.on_read = wait_for_the_stop
    owner = threading.Thread(target=link.request, args=(TallyRequest, TallyAnswer))
    owner.start()
    assert waiting.wait(PATIENCE_S)

    link.stop()

    assert port.sent[-1] == b"###"
    assert owner.is_alive()
    stopped.set()
    owner.join(PATIENCE_S)
    assert not owner.is_alive()


def test_a_refusal_because_held_is_the_stop_that_was_asked_for(
    port: ScriptedPort, link: Link
) -> None:
    link.stop()
    port.then(f"x{{n}} no {int(ErrorCode.HELD)} 0")

    with pytest.raises(Stopped, match="stopped on request"):
        link.request(GoRequest, GoAnswer, **GO)


def test_a_motion_order_is_not_repeated_after_a_stop(
    port: ScriptedPort, link: Link
) -> None:
    # The stop byte made the controller drop the order unanswered (SPEC.md 5)
    port.then()
    port.on_read = lambda: None if link.stop_asked else link.stop()

    with pytest.raises(Stopped):
        link.request(GoRequest, GoAnswer, **GO)

    assert len([data for data in port.sent if data.startswith(b"&")]) == 1


def test_a_look_is_repeated_after_a_stop(port: ScriptedPort, link: Link) -> None:
    port.then()
    link.stop()

    assert link.look().position == 4800


def test_after_a_stop_is_forgotten_being_held_is_a_refusal_again(
    port: ScriptedPort, link: Link
) -> None:
    link.stop()
    link.forget_stop()
    port.then(f"x{{n}} no {int(ErrorCode.HELD)} 0")

    with pytest.raises(RequestRefused, match="held"):
        link.request(GoRequest, Answer, **GO)
