"""SPEC.md 10: the motor's drive, and broken wires."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    fast_words,
    get_ready,
    get_to,
    get_unfenced,
    hold,
    home_words,
    is_in,
    keep,
    moves_not,
    rest_of,
)
from firmware_protocol.messages import (
    Fault,
    FaultNotice,
    Input,
    RestCause,
    RestNotice,
    State,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


def _one_fault(host: Host, first: int) -> None:
    """Expect fault 8 once among what was heard, and in `tally`."""
    host.wait(0.1)
    came = [notice.fault for notice in host.notices(FaultNotice, first)]
    host.expect(came == [Fault.DRIVE_LOST], "one `fault` 8", host.since(first))
    fault = host.tally().fault
    host.expect(fault == Fault.DRIVE_LOST, "fault 8 in `tally`", fault)


def _held_without_drive(host: Host) -> None:
    """Expect `held` that `rearm` does not lead out of while the drive is off."""
    look = host.look()
    host.expect(look.state is State.HELD, "state held", look.state)
    host.expect(not look.inputs & Input.DRIVE, "no DRIVE in `inputs`", look.inputs)
    host.gets("rearm", "no 17 0")
    host.gets(home_words(host), "no 8 0")
    is_in(host, State.HELD)


def _ends_with_drive(host: Host, number: int) -> None:
    """Lose the drive in a motion; expect its end on the spot, and `held`."""
    keep(host, 0.05)
    first = len(host.heard)
    host.world.set_drive(False)
    pulses = host.world.pulses()
    rest = rest_of(host, number)
    host.expect(rest.cause is RestCause.FAULT, "`rest` with `fault`", rest.cause)
    gone = abs(host.world.pulses() - pulses)
    host.expect(gone <= 1, "no pulse after it, or one on its way", gone)
    _one_fault(host, first)
    _held_without_drive(host)


def _comes_back_raw(host: Host) -> None:
    """Give the drive back: `rearm` leads to `raw`, whatever was homed before."""
    host.world.set_drive(True)
    host.wait(0.1)
    look = host.look()
    host.expect(look.state is State.HELD, "still held", look.state)
    host.expect(bool(look.inputs & Input.DRIVE), "DRIVE in `inputs`", look.inputs)
    host.gets("rearm", "rearm raw")


@clause(
    "10.60",
    "the drive lost in motion: no further pulse, fault 8, home given up",
    Need.MOVES,
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _in_motion(host: Host) -> None:
    field = get_to(host, 0.0)
    _ends_with_drive(host, begin_motion(host, fast_words(field, field.high)))
    moves_not(host)
    _comes_back_raw(host)


@clause(
    "10.61",
    "the drive lost in `seeking`: the same",
    Need.MOVES,
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _in_home(host: Host) -> None:
    get_to(host, 0.5)
    _ends_with_drive(host, begin_motion(host, home_words(host)))
    _comes_back_raw(host)


@clause(
    "10.62",
    "the drive lost at rest: fault 8, home and soft limits given up",
    Need.MOVES,
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _at_rest(host: Host) -> None:
    for get_there in (get_unfenced, get_ready):
        get_there(host)
        first = len(host.heard)
        host.world.set_drive(False)
        _one_fault(host, first)
        host.expect(not host.notices(RestNotice, first), "no `rest`", host.since(first))
        _held_without_drive(host)
        _comes_back_raw(host)


@clause(
    "10.63",
    "the drive lost in `held`: fault 8, a home that the stop had kept given up",
    Need.MOVES,
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _in_held(host: Host) -> None:
    get_ready(host)
    hold(host)
    first = len(host.heard)
    host.world.set_drive(False)
    _one_fault(host, first)
    _held_without_drive(host)
    _comes_back_raw(host)


@clause(
    "10.64",
    "the drive lost in `raw`: fault 8, `held`; noticed once for each loss",
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _in_raw(host: Host) -> None:
    for _ in range(2):
        first = len(host.heard)
        host.world.set_drive(False)
        host.wait(0.5)
        _one_fault(host, first)
        _held_without_drive(host)
        _comes_back_raw(host)


@clause(
    "10.65",
    "a start without the drive: fault 8 after `start`, and `held`",
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _at_start(host: Host) -> None:
    host.world.set_drive(False)
    host.wait(0.1)
    first = len(host.heard)
    host.world.restart()
    host.wait(0.2)
    host.greet()
    numbers = [notice.number for notice in host.notices(FaultNotice, first)]
    host.expect(numbers == [1], "`fault` as notice 1", host.since(first))
    _one_fault(host, first)
    _held_without_drive(host)
    _comes_back_raw(host)


@clause(
    "10.66",
    "where the drive is not watched, `DRIVE` is always set and its loss no fault",
    Need.WORLD,
    Need.NO_DRIVE_SENSE,
)
def _not_watched(host: Host) -> None:
    first = len(host.heard)
    host.world.set_drive(False)
    host.wait(0.2)
    look = host.look()
    host.expect(bool(look.inputs & Input.DRIVE), "DRIVE in `inputs`", look.inputs)
    host.expect(not host.notices(FaultNotice, first), "no `fault`", host.since(first))
    host.gets("rearm", f"rearm {look.state}")


def _must_fail_safe(host: Host, broken: Input) -> bool:
    return bool(host.trait(Trait.FAIL_SAFE) & broken)


@clause(
    "10.80",
    "a broken wire of the touch probe reads closed: `contact`, then error 12",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _probe_wire(host: Host) -> None:
    if not _must_fail_safe(host, Input.PROBE):
        return
    field = get_to(host, 0.3)
    number = begin_motion(host, fast_words(field, field.high))
    keep(host, 0.05)
    host.world.break_wire(Input.PROBE)
    rest = rest_of(host, number)
    host.expect(rest.cause is RestCause.CONTACT, "`contact`", rest.cause)
    inputs = host.look().inputs
    host.expect(bool(inputs & Input.PROBE), "PROBE in `inputs`", inputs)
    host.world.break_wire(None)
    host.gets("rearm", "rearm raw")
    field = get_to(host, 0.3)
    host.world.break_wire(Input.PROBE)
    host.wait(0.05)
    host.gets(f"touch {field.high} {field.slow}", "no 12 0")


@clause(
    "10.81",
    "a broken wire of the home switch reads closed: fault 5 in a `go`",
    Need.MOVES,
    Need.WORLD,
)
def _home_wire(host: Host) -> None:
    if not _must_fail_safe(host, Input.HOME):
        return
    field = get_to(host, 0.3)
    number = begin_motion(host, fast_words(field, field.high))
    keep(host, 0.05)
    first = len(host.heard)
    host.world.break_wire(Input.HOME)
    rest = rest_of(host, number)
    host.expect(rest.cause is RestCause.FAULT, "`fault`", rest.cause)
    came = [notice.fault for notice in host.notices(FaultNotice, first)]
    host.expect(came == [Fault.HOME_UNEXPECTED], "one `fault` 5", host.since(first))


@clause(
    "10.82",
    "a broken wire of the drive's input reads as its loss: fault 8",
    Need.WORLD,
    Need.DRIVE_SENSE,
)
def _drive_wire(host: Host) -> None:
    if not _must_fail_safe(host, Input.DRIVE):
        return
    first = len(host.heard)
    host.world.break_wire(Input.DRIVE)
    _one_fault(host, first)
    _held_without_drive(host)


@clause(
    "10.83",
    "a broken wire of the supply's input reads as its loss: fault 6",
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _supply_wire(host: Host) -> None:
    if not _must_fail_safe(host, Input.SUPPLY):
        return
    first = len(host.heard)
    host.world.break_wire(Input.SUPPLY)
    host.wait(0.2)
    came = [notice.fault for notice in host.notices(FaultNotice, first)]
    host.expect(came == [Fault.SUPPLY_LOST], "one `fault` 6", host.since(first))
