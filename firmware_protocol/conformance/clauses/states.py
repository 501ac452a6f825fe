"""SPEC.md 8: the states."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    ends,
    field_of,
    get_moving,
    get_raw,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    go_to,
    hold,
    home_words,
    is_in,
    keep,
)
from firmware_protocol.messages import (
    Fault,
    FaultNotice,
    Input,
    RestCause,
    RestNotice,
    State,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


def _answers_all(host: Host) -> None:
    """Expect the readings to be answered, whatever the state."""
    host.gets("hail 1", "hail 1")
    host.gets("trait 0", "trait 0")
    host.gets("look", "look")
    host.gets("tally", "tally")
    last = (host.look().next_notice - 1) % 65536
    host.gets(f"recall {last}", "recall")


def _orders(host: Host, fence: str, moves: str) -> None:
    """Expect these refusals of `fence` and of `go` and `touch`."""
    field = field_of(host)
    host.gets(f"fence {field.low} {field.high}", fence)
    host.gets(f"go {field.low} {field.slow} 1 0 0", moves)
    host.gets(f"touch {field.low} {field.slow}", moves)


@clause("8.1", "`raw`: only `home` moves; `rearm` answers `raw`")
def _raw(host: Host) -> None:
    get_raw(host)
    _answers_all(host)
    _orders(host, "no 5 0", "no 5 0")
    host.gets("rate 115200", "rate 115200")
    host.gets("rearm", "rearm raw")


@clause("8.2", "`held`: error 8 for everything that moves or fences")
def _held(host: Host) -> None:
    hold(host)
    _answers_all(host)
    _orders(host, "no 8 0", "no 8 0")
    host.gets(home_words(host), "no 8 0")
    host.gets("rate 115200", "rate 115200")
    is_in(host, State.HELD)
    host.ask("rearm")


@clause("8.3", "`seeking`: error 7, readings are answered", Need.MOVES)
def _seek_table(host: Host) -> None:
    get_seeking(host)
    _answers_all(host)
    _orders(host, "no 7 0", "no 7 0")
    for words in (home_words(host), "rearm", "free", "rate 115200", "rate 250000"):
        host.gets(words, "no 7 0")
    is_in(host, State.SEEKING)
    hold(host)


@clause("8.4", "`moving`: error 7, readings are answered", Need.MOVES)
def _move_table(host: Host) -> None:
    get_moving(host)
    _answers_all(host)
    _orders(host, "no 7 0", "no 7 0")
    for words in (home_words(host), "rearm", "rate 115200", "rate 250000"):
        host.gets(words, "no 7 0")
    is_in(host, State.MOVING)
    hold(host)


@clause(
    "8.5", "`unfenced`: nothing moves but `home`; `fence` leads to `ready`", Need.MOVES
)
def _unfenced(host: Host) -> None:
    get_unfenced(host)
    _answers_all(host)
    field = field_of(host)
    host.gets(f"go {field.low} {field.slow} 1 0 0", "no 6 0")
    host.gets(f"touch {field.low} {field.slow}", "no 6 0")
    host.gets("rearm", "rearm unfenced")
    host.gets("rate 115200", "rate 115200")
    host.gets(f"fence {field.low} {field.high}", f"fence {field.low} {field.high}")
    is_in(host, State.READY)


@clause("8.6", "`ready`: a new `fence` replaces the old one", Need.MOVES)
def _ready(host: Host) -> None:
    field = get_ready(host)
    _answers_all(host)
    host.gets("rearm", "rearm ready")
    host.gets("rate 115200", "rate 115200")
    middle = field.at(0.5)
    host.gets(f"fence {field.low} {middle}", f"fence {field.low} {middle}")
    host.gets(f"go {middle + 1} {field.slow} 1 0 0", "no 9 1")
    host.gets(f"fence {middle} {field.high}", f"fence {middle} {field.high}")
    host.gets(f"go {middle - 1} {field.slow} 1 0 0", "no 9 1")


@clause("8.7", "the axis may stand outside the soft limits", Need.MOVES)
def _outside(host: Host) -> None:
    field = get_to(host, 0.1)
    low = field.at(0.3)
    host.gets(f"fence {low} {field.high}", f"fence {low} {field.high}")
    is_in(host, State.READY)
    host.gets(f"go {field.at(0.2)} {field.slow} 1 0 0", "no 9 1")
    go_to(host, low)


@clause("8.8", "`home` gives up the old home and the soft limits", Need.MOVES)
def _gives_up(host: Host) -> None:
    get_to(host, 0.1)
    begin_motion(host, home_words(host))
    is_in(host, State.SEEKING)
    hold(host)
    host.gets("rearm", "rearm raw")
    get_ready(host)
    ends(host, home_words(host), RestCause.HOMED, 0)
    is_in(host, State.UNFENCED)


@clause("8.9", "the step count goes on after a stop", Need.MOVES)
def _goes_on(host: Host) -> None:
    get_moving(host)
    keep(host, 0.2)
    hold(host)
    before = host.look().position
    host.ask("rearm")
    come = host.look().position
    host.expect(come == before != 0, f"count {before} after `rearm`", come)


@clause("8.10", "silence at rest changes nothing", Need.MOVES)
def _silence_at_rest(host: Host) -> None:
    get_ready(host)
    host.wait(2.5)
    is_in(host, State.READY)


@clause(
    "8.11",
    "a fault at rest: `held`, home and limits kept",
    Need.MOVES,
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _fault_at_rest(host: Host) -> None:
    get_ready(host)
    first = len(host.heard)
    host.world.set_supply(False)
    host.wait(0.2)
    faults = host.notices(FaultNotice, first)
    host.expect(
        [fault.fault for fault in faults] == [Fault.SUPPLY_LOST]
        and not host.notices(RestNotice, first),
        "one `fault` 6 and no `rest`",
        host.since(first),
    )
    look = host.look()
    host.expect(look.state is State.HELD, "state held", look.state)
    host.expect(not look.inputs & Input.SUPPLY, "no SUPPLY in `inputs`", look.inputs)
    host.gets("rearm", "rearm ready")
    fault = host.tally().fault
    host.expect(fault == Fault.SUPPLY_LOST, "the fault still in `tally`", fault)
    go_to(host, field_of(host).at(0.1))


@clause(
    "8.12",
    "in `held` a fault is noticed and changes nothing else",
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _fault_in_held(host: Host) -> None:
    hold(host)
    first = len(host.heard)
    host.world.set_supply(False)
    host.wait(0.2)
    came = [notice.fault for notice in host.notices(FaultNotice, first)]
    host.expect(came == [Fault.SUPPLY_LOST], "one `fault` 6", host.since(first))
    is_in(host, State.HELD)
    host.gets("rearm", "rearm raw")
