"""SPEC.md 7: quantities, which `read` tells, and controls, which `put` sets."""

from __future__ import annotations

from itertools import pairwise

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_raw,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    hold,
    is_in,
    rest_of,
)
from firmware_protocol.messages import (
    Control,
    EdgeNotice,
    Fault,
    FaultNotice,
    Input,
    PutAnswer,
    Quantity,
    ReadAnswer,
    Source,
    State,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause

_OTHERS = (5, 7, 8, 31, 32, 255)
# What a world is set to and what a coarse converter may make of it: of the value, and
# beside that
_SET = {
    Quantity.SUPPLY: (24000, 21000),
    Quantity.LOAD_CURRENT: (10000, 4000),
    Quantity.RESIDUAL_VOLTAGE: (1200, 600),
    Quantity.TEMPERATURE: (21500, 35000),
}
_WITHIN = (0.03, 50)
_LATCHED_US = 10
_CLOCK_ROUND = 2**32
_ROUNDING_US = 2.0
_PAUSE_S = 0.05


def _there(host: Host, trait: Trait, number: int) -> bool:
    return number < 31 and bool(host.trait(trait) & 1 << number)


def _read(host: Host, quantity: Quantity) -> int:
    heard = host.asked(f"read {int(quantity)}", 0)
    message = heard.message
    if not isinstance(message, ReadAnswer) or message.index != quantity:
        raise Broken(f"`read {int(quantity)} ...`", f"`{heard.text}`")
    return message.value


def _put(host: Host, control: Control, value: int) -> int:
    """Set a control, and return the time told."""
    words = f"put {int(control)} {value}"
    heard = host.asked(words)
    message = heard.message
    if not isinstance(message, PutAnswer):
        raise Broken(f"an answer to `{words}`", f"`{heard.text}`")
    host.expect((message.index, message.value) == (control, value), words, heard.text)
    return message.time


def _switch(host: Host, on: bool) -> int:
    return _put(host, Control.SENSOR_SUPPLY, int(on))


@clause("7.20", "`read` tells each quantity of QUANTITIES", Need.QUANTITIES)
def _tells(host: Host) -> None:
    for quantity in Quantity:
        if _there(host, Trait.QUANTITIES, quantity):
            _read(host, quantity)


@clause("7.21", "`read` tells a quantity as it is now", Need.WORLD, Need.QUANTITIES)
def _as_it_is(host: Host) -> None:
    share, beside = _WITHIN
    for quantity, values in _SET.items():
        if not _there(host, Trait.QUANTITIES, quantity):
            continue
        for value in values:
            host.world.set_quantity(quantity, value)
            host.wait(_PAUSE_S)
            came = _read(host, quantity)
            fits = abs(came - value) <= share * value + beside
            host.expect(fits, f"{quantity.name} of about {value}", came)


@clause("7.22", "`read` of anything that QUANTITIES leaves out is error 11")
def _no_quantity(host: Host) -> None:
    for number in (*Quantity, *_OTHERS):
        if not _there(host, Trait.QUANTITIES, number):
            host.gets(f"read {int(number)}", "no 11 0")


@clause(
    "7.23",
    "`read` is answered in every state, in motion too",
    Need.MOVES,
    Need.QUANTITIES,
)
def _in_every_state(host: Host) -> None:
    quantity = next(q for q in Quantity if _there(host, Trait.QUANTITIES, q))
    for get_there in (get_raw, get_unfenced, get_ready):
        get_there(host)
        _read(host, quantity)
    field = get_to(host, 0.0)
    number = begin_motion(host, f"go {field.at(0.2)} {field.slow} 1 0 0")
    _read(host, quantity)
    rest_of(host, number)
    hold(host)
    _read(host, quantity)


@clause("7.24", "`put` of anything that CONTROLS leaves out is error 11")
def _no_control(host: Host) -> None:
    get_raw(host)
    for number in (*Control, *_OTHERS):
        if not _there(host, Trait.CONTROLS, number):
            host.gets(f"put {int(number)} 1", "no 11 0")


@clause(
    "7.25",
    "a value that does not fit a control is error 3, argument 2",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
)
def _does_not_fit(host: Host) -> None:
    get_raw(host)
    for value in (2, -1, 2**31 - 1):
        host.gets(f"put {int(Control.SENSOR_SUPPLY)} {value}", "no 3 2")
        host.expect(host.world.sensor_supply()[0], "the supply on", "off")


@clause(
    "7.26",
    "the supply's voltage is set from SUPPLY_LOW to SUPPLY_HIGH, and no farther",
    Need.WORLD,
    Need.SUPPLY_VOLTAGE,
)
def _voltage(host: Host) -> None:
    get_raw(host)
    low, high = host.trait(Trait.SUPPLY_LOW), host.trait(Trait.SUPPLY_HIGH)
    start = host.trait(Trait.SUPPLY_START)
    for value in (low, high, start):
        _put(host, Control.SUPPLY_VOLTAGE, value)
        came = host.world.supply_set_mv()
        host.expect(came == value, f"{value} mV", f"{came} mV")
    for value in (low - 1, high + 1, -1):
        host.gets(f"put {int(Control.SUPPLY_VOLTAGE)} {value}", "no 3 2")
        came = host.world.supply_set_mv()
        host.expect(came == start, f"still {start} mV", f"{came} mV")


@clause(
    "7.27",
    "`put` switches the supply off and on, and `inputs` tell it",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
)
def _switches(host: Host) -> None:
    get_raw(host)
    for on in (False, True):
        _switch(host, on)
        came = host.world.sensor_supply()[0]
        host.expect(came is on, f"supply {'on' if on else 'off'}", came)
        told = bool(host.look().inputs & Input.SUPPLY)
        host.expect(told is on, f"SUPPLY {int(on)} in `inputs`", int(told))


@clause(
    "7.28",
    "`put` tells the instant of the switching",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
)
def _instant(host: Host) -> None:
    get_raw(host)
    told, true = [], []
    for on in (False, True, False, True):
        told.append(_switch(host, on))
        true.append(host.world.sensor_supply()[1])
        host.wait(_PAUSE_S)
    for (a, b), (x, y) in zip(pairwise(told), pairwise(true), strict=True):
        off = (b - a) % _CLOCK_ROUND - (y - x)
        host.expect(
            abs(off) <= _LATCHED_US + _ROUNDING_US,
            f"{y - x:.0f} us from one to the next",
            f"{y - x + off:.0f} us",
        )


@clause(
    "7.29",
    "edges that follow the switching lie behind its time on the same clock",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
)
def _edges(host: Host) -> None:
    get_raw(host)
    host.world.hold_output(True)
    host.wait(_PAUSE_S)
    try:
        for on in (False, True):
            first = len(host.heard)
            host.world.changes()
            at = _switch(host, on)
            switched_us = host.world.sensor_supply()[1]
            host.wait(_PAUSE_S)
            edges = [
                n for n in host.notices(EdgeNotice, first) if n.source == Source.OUT
            ]
            host.expect(
                [edge.level for edge in edges] == [on], f"one edge to {on:d}", edges
            )
            (true,) = (c for c in host.world.changes() if c.source == Source.OUT)
            later = (edges[0].time - at + _CLOCK_ROUND // 2) % _CLOCK_ROUND
            off = later - _CLOCK_ROUND // 2 - (true.time_us - switched_us)
            host.expect(
                abs(off) <= 2 * _LATCHED_US, "the edge in its time", f"{off} us"
            )
    finally:
        host.world.hold_output(None)


@clause(
    "7.30",
    "a supply that was switched off is no fault; its loss after that is",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
    Need.SUPPLY_SENSE,
)
def _no_loss(host: Host) -> None:
    get_raw(host)
    first = len(host.heard)
    _switch(host, False)
    host.wait(0.2)
    is_in(host, State.RAW)
    _switch(host, True)
    host.wait(0.2)
    is_in(host, State.RAW)
    host.expect(not host.notices(FaultNotice, first), "no fault", host.since(first))
    host.world.set_supply(False)
    host.wait(0.2)
    came = [notice.fault for notice in host.notices(FaultNotice, first)]
    host.world.set_supply(True)
    host.expect(came == [Fault.SUPPLY_LOST], "fault 6", host.since(first))
    host.gets("rearm", "rearm raw")


@clause(
    "7.31",
    "`put` is error 7 in motion, and carried out in `held`",
    Need.MOVES,
    Need.SUPPLY_SWITCH,
)
def _states(host: Host) -> None:
    words = f"put {int(Control.SENSOR_SUPPLY)} 1"
    for get_there in (get_unfenced, get_ready):
        get_there(host)
        _switch(host, True)
    field = get_to(host, 0.0)
    number = begin_motion(host, f"go {field.at(0.2)} {field.slow} 1 0 0")
    host.gets(words, "no 7 0")
    rest_of(host, number)
    get_seeking(host)
    host.gets(words, "no 7 0")
    hold(host)
    _switch(host, True)


@clause("7.32", "after a start the supply is on", Need.WORLD, Need.SUPPLY_SWITCH)
def _after_start(host: Host) -> None:
    get_raw(host)
    _switch(host, False)
    host.world.restart()
    host.greet()
    host.expect(host.world.sensor_supply()[0], "the supply on", "off")
    host.expect(
        bool(host.look().inputs & Input.SUPPLY), "SUPPLY in `inputs`", host.look()
    )


@clause(
    "7.33",
    "after a start the voltage is SUPPLY_START",
    Need.WORLD,
    Need.SUPPLY_VOLTAGE,
)
def _voltage_after_start(host: Host) -> None:
    get_raw(host)
    _put(host, Control.SUPPLY_VOLTAGE, host.trait(Trait.SUPPLY_LOW))
    host.world.restart()
    host.greet()
    start, came = host.trait(Trait.SUPPLY_START), host.world.supply_set_mv()
    host.expect(came == start, f"{start} mV", f"{came} mV")


@clause(
    "7.34",
    "a repeated `put` is answered with the first time and switches nothing",
    Need.WORLD,
    Need.SUPPLY_SWITCH,
)
def _repeated(host: Host) -> None:
    get_raw(host)
    number = host.number()
    words = f"put {int(Control.SENSOR_SUPPLY)} 0"
    first = host.ask(words, number)
    before = host.world.sensor_supply()
    host.wait(_PAUSE_S)
    again = host.ask(words, number)
    host.expect(again == first, f"`{first}`", f"`{again}`")
    host.expect(host.world.sensor_supply() == before, "nothing switched", "a switching")
    _switch(host, True)


@clause("7.35", "where there is no quantity QUANTITIES is 0", Need.NO_QUANTITIES)
def _none(host: Host) -> None:
    host.gets("read 0", "no 11 0")


@clause(
    "7.36",
    "without a voltage to set SUPPLY_LOW, SUPPLY_HIGH and SUPPLY_START are 0",
    Need.NO_SUPPLY_VOLTAGE,
)
def _no_voltage(host: Host) -> None:
    for trait in (Trait.SUPPLY_LOW, Trait.SUPPLY_HIGH, Trait.SUPPLY_START):
        host.expect(host.trait(trait) == 0, f"{trait.name} 0", host.trait(trait))


@clause("7.37", "a supply that cannot be switched is always on", Need.NO_SUPPLY_SWITCH)
def _always_on(host: Host) -> None:
    host.gets(f"put {int(Control.SENSOR_SUPPLY)} 0", "no 11 0")
