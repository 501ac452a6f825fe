from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from firmware_protocol import Receiver, encode
from firmware_protocol.conformance.controllers import Value
from firmware_protocol.conformance.controllers.avr_image import AvrImage
from firmware_protocol.conformance.measure import (
    DRIVE_LOST_AT_S,
    EDGE_RATES,
    HOME_CONTACTS,
    PULSES,
    STACK_BYTES,
    edge_rate,
    home_past_contact_steps,
    saturate,
    silence_ms,
    steps_after_drive_lost,
    turn_reaction_ms,
    turns_on_pulse,
)
from firmware_protocol.messages import (
    Ability,
    ErrorCode,
    Fault,
    FaultNotice,
    FenceRequest,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeRequest,
    Input,
    LookAnswer,
    LookRequest,
    Notice,
    Refusal,
    RestCause,
    RestNotice,
    SetAnswer,
    SetRequest,
    StartNotice,
    StartReason,
    Trait,
    TraitAnswer,
    TraitRequest,
)
from tests.conformance.host_core import HostCore
from tests.conformance.lockstep import LockStep
from tests.conformance.m3_image import M3Image


@pytest.fixture(
    params=[
        HostCore,
        *(pytest.param(make, marks=pytest.mark.long) for make in (AvrImage, M3Image)),
    ]
)
def bench(
    request: pytest.FixtureRequest, needs: Callable[..., None]
) -> Iterator[LockStep]:
    compilers = {
        HostCore: ["gcc"],
        AvrImage: ["gcc", "avr-gcc"],
        M3Image: ["arm-none-eabi-gcc", "qemu-system-arm"],
    }
    needs("make", *compilers[request.param])
    with request.param() as bench:
        yield bench


def _wait(bench: LockStep, receiver: Receiver, seconds: float) -> list[object]:
    bench.advance(seconds)
    return list(receiver.feed(bench.take_output()))


def _greeted(bench: LockStep, receiver: Receiver) -> int:
    """Greet, and return the session."""
    bench.feed(encode(HailRequest(number=1, major=1)))
    (hail,) = _wait(bench, receiver, 0.02)
    assert isinstance(hail, HailAnswer)
    return hail.session


def _live_for(bench: LockStep, receiver: Receiver, seconds: float) -> list[object]:
    """Let time pass as a host does that is alive."""
    came = []
    for _ in range(round(seconds / 0.1)):
        bench.feed(encode(LookRequest(number=0)))
        came += _wait(bench, receiver, 0.1)
    return came


def test_homes_to_where_the_switch_closes(bench: LockStep) -> None:
    receiver, notices = Receiver(), []
    _wait(bench, receiver, 0.05)
    session = _greeted(bench, receiver)

    home = HomeRequest(number=2, fast=16_000, slow=400, session=session)
    bench.feed(encode(home))
    for _ in range(40):
        notices += [
            message
            for message in _wait(bench, receiver, 0.1)
            if isinstance(message, Notice)
        ]
        bench.feed(encode(LookRequest(number=0)))

    rest = notices[-1]
    assert isinstance(rest, RestNotice)
    assert (rest.request, rest.cause, rest.position) == (2, RestCause.HOMED, 0)
    assert bench.get(Value.TARGET) == 0.0


def test_the_queue_of_a_dead_host_moves_nothing(bench: LockStep) -> None:
    """A serial server that flushes late, before and after another host has greeted."""
    receiver = Receiver()
    _wait(bench, receiver, 0.05)
    session = _greeted(bench, receiver)
    home = HomeRequest(number=1, fast=16_000, slow=400, session=session)
    bench.feed(encode(home))
    _live_for(bench, receiver, 4.0)
    bench.feed(encode(FenceRequest(number=2, low=400, high=80_000, session=session)))
    _live_for(bench, receiver, 0.1)
    go = GoRequest(
        number=3,
        target=2000,
        speed=16_000,
        acceleration=400_000,
        edges=0,
        overrun=0,
        session=session,
    )
    queue = encode(go) + encode(LookRequest(number=0))
    pulses = bench.get(Value.PULSES_UP) + bench.get(Value.PULSES_DOWN)

    came = _wait(bench, receiver, 0.6)  # dead
    for _ in range(5):
        bench.feed(queue)
        came += _wait(bench, receiver, 0.3)
    other = _greeted(bench, receiver)
    bench.feed(queue * 2)
    came += _live_for(bench, receiver, 0.5)

    refusals = [message.error for message in came if isinstance(message, Refusal)]
    assert refusals == [ErrorCode.OLD_SESSION] * 7
    assert bench.get(Value.PULSES_UP) + bench.get(Value.PULSES_DOWN) == pulses
    # The same order of the host that lives is carried out, from its first number on
    bench.feed(encode(replace(go, number=1, session=other)))
    _live_for(bench, receiver, 1.0)
    assert bench.get(Value.PULSES_UP) + bench.get(Value.PULSES_DOWN) == pulses + 2000


@pytest.mark.long
@pytest.mark.parametrize(
    ("make", "compilers"),
    [
        (AvrImage, ["gcc", "avr-gcc"]),
        (M3Image, ["arm-none-eabi-gcc", "qemu-system-arm"]),
    ],
)
def test_a_hung_program_is_restarted_by_the_watchdog(
    needs: Callable[..., None],
    make: type[AvrImage] | type[M3Image],
    compilers: list[str],
) -> None:
    needs("make", *compilers)
    with make() as image:
        receiver = Receiver()
        _wait(image, receiver, 0.05)

        image.hang()
        (notice,) = _wait(image, receiver, 0.5)

    assert isinstance(notice, StartNotice)
    assert notice.reason is StartReason.WATCHDOG


@pytest.mark.long
@pytest.mark.parametrize("bits_s", [115_200, 250_000])
def test_turns_on_the_edge_with_the_line_full(
    needs: Callable[..., None], bits_s: int
) -> None:
    needs("make", "gcc", "avr-gcc")

    # README.md states 5 ms; the line's bytes are all received, or this raises
    assert 0.0 < turn_reaction_ms(bits_s, count=6) <= 5.0


@pytest.mark.long
@pytest.mark.parametrize("bits_s", [115_200, 250_000])
def test_nothing_is_lost_at_the_highest_step_rate_with_the_line_full(
    needs: Callable[..., None], bits_s: int
) -> None:
    needs("make", "gcc", "avr-gcc")

    run = saturate(bits_s, edges_s=100, seconds=0.6)

    assert run.pulses_s >= 18_000
    assert run.edges[0] == run.edges[1] > 20
    assert (run.lost, run.overruns, run.faulty_rests) == (0, 0, 0)
    assert run.worst_late_us <= 45.0
    assert run.worst_latch_us <= 2.0
    assert run.worst_latch_steps <= 1
    assert run.stack_bytes <= STACK_BYTES


@pytest.mark.long
def test_no_edge_is_lost_at_the_promised_rate(needs: Callable[..., None]) -> None:
    needs("make", "gcc", "avr-gcc")

    assert edge_rate(EDGE_RATES[0], seconds=1) == 0


@pytest.mark.long
def test_the_axis_stops_when_the_host_falls_silent(needs: Callable[..., None]) -> None:
    needs("make", "gcc", "avr-gcc")

    # SPEC.md: 0.5 s after the host's last line, counted by a clock of milliseconds
    assert 480.0 <= silence_ms() <= 502.0


@pytest.mark.long
@pytest.mark.parametrize(
    ("way_steps", "wrong", "most_steps"),
    [contact[1:] for contact in HOME_CONTACTS],
    ids=[contact[0] for contact in HOME_CONTACTS],
)
def test_home_ends_at_the_face(
    needs: Callable[..., None], way_steps: int, wrong: Value, most_steps: int
) -> None:
    needs("make", "gcc", "avr-gcc")

    # SPEC.md: at once; from a closed probe 0.5 mm. At 16000 steps/s a step is 62.5 us.
    assert 0 <= home_past_contact_steps(way_steps, wrong) <= most_steps


@pytest.mark.long
@pytest.mark.parametrize("wait_s", DRIVE_LOST_AT_S)
def test_the_drive_lost_stops_the_axis_at_once(
    needs: Callable[..., None], wait_s: float
) -> None:
    needs("make", "gcc", "avr-gcc")

    # SPEC.md: no further pulse, but for one on its way at that instant
    assert steps_after_drive_lost(wait_s)[0] <= 1


@pytest.mark.long
@pytest.mark.parametrize(("length_us", "turns"), PULSES)
def test_a_pulse_turns_the_axis_if_it_lasts(
    needs: Callable[..., None], length_us: float, turns: bool
) -> None:
    needs("make", "gcc", "avr-gcc")

    # SPEC.md: MIN_PULSE, which config.h sets to 50 us
    assert turns_on_pulse(length_us) is turns


def _asked(bench: LockStep, receiver: Receiver, trait: Trait) -> int:
    bench.feed(encode(TraitRequest(number=0, index=trait)))
    (answer,) = _wait(bench, receiver, 0.02)
    assert isinstance(answer, TraitAnswer)
    return answer.value


def _set(bench: LockStep, number: int, session: int, trait: Trait, to: int) -> None:
    order = SetRequest(number=number, index=trait, value=to, session=session)
    bench.feed(encode(order))


@pytest.mark.parametrize(
    ("high", "inputs", "fail_safe"),
    [
        # As the board's contacts are: probe and home switch open at contact
        (Input.PROBE | Input.HOME, Input.DRIVE | Input.SUPPLY, 30),
        # The home switch said to close at contact reads as closed, and fails unsafe
        (Input.PROBE, Input.DRIVE | Input.SUPPLY | Input.HOME, 26),
    ],
)
def test_the_level_of_each_input_is_a_setting(
    needs: Callable[..., None], high: Input, inputs: Input, fail_safe: int
) -> None:
    needs("make", "gcc", "avr-gcc")
    with AvrImage(Ability.SUPPLY_SENSE) as image:
        receiver = Receiver()
        _wait(image, receiver, 0.05)
        session = _greeted(image, receiver)

        _set(image, 1, session, Trait.HIGH_INPUTS, int(high))
        (answer,) = _wait(image, receiver, 0.2)
        image.feed(encode(LookRequest(number=0)))
        (look,) = _wait(image, receiver, 0.02)
        safe = _asked(image, receiver, Trait.FAIL_SAFE)

    assert isinstance(answer, SetAnswer)
    assert isinstance(look, LookAnswer)
    assert (look.inputs, safe) == (inputs, fail_safe)


def test_a_new_board_is_unnamed_and_has_a_serial_of_its_own(
    needs: Callable[..., None],
) -> None:
    needs("make", "gcc", "avr-gcc")
    with AvrImage() as image:
        receiver = Receiver()
        image.write_eeprom(0, b"\xff" * 70)
        image.restart()
        # Some 60 bytes are written, 3.4 ms each
        _wait(image, receiver, 0.5)

        image.feed(encode(HailRequest(number=1, major=1)))
        (hail,) = _wait(image, receiver, 0.02)
        serial = _asked(image, receiver, Trait.SERIAL)
        image.restart()
        _wait(image, receiver, 0.05)
        _greeted(image, receiver)
        again = _asked(image, receiver, Trait.SERIAL)

    assert isinstance(hail, HailAnswer)
    assert hail.rig == "unnamed"
    assert 0 < serial == again


@pytest.mark.parametrize("at", [2, 3, 30, 62, 64])
def test_a_damaged_byte_of_the_settings_is_a_fault(
    needs: Callable[..., None], at: int
) -> None:
    needs("make", "gcc", "avr-gcc")
    with AvrImage(Ability.SUPPLY_SENSE) as image:
        receiver = Receiver()
        image.write_eeprom(at, b"\x5a")
        image.restart()
        notices = _wait(image, receiver, 0.05)

        image.feed(encode(HailRequest(number=1, major=1)))
        (hail,) = _wait(image, receiver, 0.02)

    faults = [n.fault for n in notices if isinstance(n, FaultNotice)]
    assert faults == [Fault.SETTINGS_LOST]
    assert isinstance(hail, HailAnswer)
    assert hail.rig == "unnamed"
