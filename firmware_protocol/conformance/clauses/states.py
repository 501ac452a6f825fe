"""SPEC.md 5, 8 and 12: the stop byte, the states, start and greeting."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host, line
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
    rest_of,
)
from firmware_protocol.messages import (
    Fault,
    FaultNotice,
    Input,
    RestCause,
    RestNotice,
    StartNotice,
    StartReason,
    State,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


def _rests_after(host: Host, first: int, cause: RestCause) -> RestNotice:
    """Expect one `rest` since an index, with this cause, and state `held`."""
    host.wait(0.1 + host.subject.latency_s)
    rests = host.notices(RestNotice, first)
    host.expect(
        [rest.cause for rest in rests] == [cause],
        f"one `rest` with cause `{cause}`",
        host.since(first),
    )
    is_in(host, State.HELD)
    return rests[0]


def _moves_not(host: Host, seconds: float = 0.3) -> None:
    """Expect the axis to stand still, also by the world's count where there is one."""
    pulses = None if host.subject.world is None else host.world.pulses()
    before = host.look().position
    host.wait(seconds)
    after = host.look().position
    host.expect(after == before, f"rest at {before}", after)
    if pulses is not None:
        host.expect(host.world.pulses() == pulses, "no pulse", host.world.pulses())


# ---- 5


@clause("5.1", "a stop byte in mid-line acts, and drops its line uncounted")
def _in_mid_line(host: Host) -> None:
    get_raw(host)
    dropped = host.tally().dropped
    whole = line("q77 rearm")
    for cut in (1, 3, 7, len(whole) - 1):
        host.ignores(whole[:cut] + b"#" + whole[cut:], "a line with `#` in it")
        is_in(host, State.HELD)
        host.gets("rearm", "rearm raw")
    came = host.tally().dropped - dropped
    host.expect(came == 0, "such a line not counted as damaged", came)


@clause("5.2", "a stop byte at rest leads to `held`, with no notice")
def _at_rest(host: Host) -> None:
    get_raw(host)
    before = host.look().next_notice
    hold(host)
    is_in(host, State.HELD)
    came = host.look().next_notice
    host.expect(came == before, "no notice", f"{came - before} notices")


@clause("5.3", "the stop byte acts before the first `hail`", Need.WORLD, greets=False)
def _before_hail(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    host.send(b"#")
    host.wait(0.05)
    host.greet()
    is_in(host, State.HELD)


@clause("5.4", "in `held` a stop byte changes nothing; three do no harm")
def _three_times(host: Host) -> None:
    get_raw(host)
    before = host.look().next_notice
    host.send(b"###")
    hold(host)
    is_in(host, State.HELD)
    host.expect(host.look().next_notice == before, "no notice", host.look().next_notice)
    host.gets("rearm", "rearm raw")


@clause("5.5", "a request behind a stop byte is heard")
def _behind(host: Host) -> None:
    number = host.number()
    host.send(b"#" + line(f"q{number} look"))
    host.wait(0.1 + host.subject.latency_s)
    came = [heard.text.split()[2] for heard in host.replies(number)]
    host.expect(came == ["held"], "`look held ...`", host.since(0))
    host.ask("rearm")


@clause("5.6", "what the controller is sending when a stop byte comes is finished")
def _finished(host: Host) -> None:
    for pause_ms in range(0, 6):
        data = line(f"q{host.number()} look")
        host.send(data)
        host.wait(host.wire_s(len(data)) + pause_ms * 1e-3)
        host.send(b"#")
        host.wait(0.05 + host.subject.latency_s)
        host.ask("rearm")
    host.expect(not host.flaws, "whole lines", "; ".join(host.flaws))


@clause(
    "5.7", "a stop byte in `moving` stops at once: `stopped`, home given up", Need.MOVES
)
def _moving(host: Host) -> None:
    _, number = get_moving(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"#")
    rest = _rests_after(host, first, RestCause.STOPPED)
    host.expect(rest.request == number, f"the `rest` of request {number}", rest)
    _moves_not(host)
    host.expect(host.look().position == rest.position, "the count of `rest`", rest)
    host.gets("rearm", "rearm raw")


@clause("5.8", "a stop byte in `seeking` does the same", Need.MOVES)
def _seeking(host: Host) -> None:
    number = get_seeking(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"#")
    rest = _rests_after(host, first, RestCause.STOPPED)
    host.expect(rest.request == number, f"the `rest` of request {number}", rest)
    _moves_not(host)
    host.gets("rearm", "rearm raw")


@clause("5.9", "a stop byte in mid-line stops a motion", Need.MOVES)
def _moving_mid_line(host: Host) -> None:
    get_moving(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"&q5 lo#")
    _rests_after(host, first, RestCause.STOPPED)
    host.send(b"ok 1234\n")
    _moves_not(host)


@clause("5.10", "no step pulse comes after the stop byte", Need.MOVES, Need.WORLD)
def _no_pulse(host: Host) -> None:
    field = get_to(host, 0.0)
    begin_motion(host, f"go {field.high} {field.fast} {field.acceleration} 0 0")
    keep(host, 0.05)
    first = len(host.heard)
    host.send(b"#")
    host.wait(host.wire_s(1) + 0.0005 + host.subject.latency_s)
    before = host.world.pulses()
    _rests_after(host, first, RestCause.STOPPED)
    after = host.world.pulses()
    host.expect(after == before, "no pulse after the stop byte", f"{after - before}")


@clause("5.11", "three stop bytes in motion make one `rest`", Need.MOVES)
def _one_rest(host: Host) -> None:
    get_moving(host)
    first = len(host.heard)
    host.send(b"###")
    _rests_after(host, first, RestCause.STOPPED)


@clause("5.12", "an order right before a stop byte does not move on", Need.MOVES)
def _order_before(host: Host) -> None:
    field = get_to(host, 0.0)
    words = f"go {field.high} {field.slow} 1 0 0"
    host.send(line(f"q{host.number()} {words}") + b"#")
    host.wait(0.1 + host.subject.latency_s)
    is_in(host, State.HELD)
    _moves_not(host)


@clause("5.13", "at rest a stop byte keeps home and soft limits", Need.MOVES)
def _keeps_home(host: Host) -> None:
    get_unfenced(host)
    hold(host)
    is_in(host, State.HELD)
    host.gets("rearm", "rearm unfenced")
    field = get_ready(host)
    hold(host)
    is_in(host, State.HELD)
    host.gets("rearm", "rearm ready")
    host.gets(f"go {field.high + 1} {field.slow} 1 0 0", "no 9 1")
    go_to(host, field.at(0.1))


# ---- 8


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
    for words in (home_words(host), "rearm", "rate 115200", "rate 250000"):
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


# ---- 12


@clause(
    "12.1",
    "after a start: `raw`, count 0, notice 0 is `start`",
    Need.WORLD,
    greets=False,
)
def _start(host: Host) -> None:
    host.greet()
    before = host.look()
    host.wait(0.1)
    first = len(host.heard)
    host.world.restart()
    host.wait(0.2)
    starts = host.notices(StartNotice, first)
    host.expect(
        len(starts) == 1 and starts[0].number == 0 and starts[0].lost == 0,
        "one `n0 start 0 ...`",
        host.since(first),
    )
    host.expect(starts[0].reason is StartReason.BUTTON, "reason `button`", starts[0])
    host.expect(starts[0].boot != before.boot, "another `boot`", starts[0].boot)
    host.greet()
    after = host.look()
    host.expect(after.state is State.RAW and after.position == 0, "raw at 0", after)
    host.expect(after.boot == starts[0].boot, "the `boot` of the notice", after.boot)
    host.expect(after.time < 5_000_000, "a clock that begins anew", after.time)
    host.expect(after.next_notice == 1, "notice 1 next", after.next_notice)


@clause(
    "12.2", "after a start everything but `hail` is error 16", Need.WORLD, greets=False
)
def _no_greeting(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    for words in ("trait 0", "look", "tally"):
        host.gets(words, "no 16 0", 0)
    for words in (
        "fence 5 4",
        "home 1 1",
        "go 0 1 1 0 0",
        "touch 0 1",
        "rearm",
        "recall 0",
    ):
        host.gets(words, "no 16 0")
    host.gets("rate 115200", "no 16 0")
    host.gets("hail 1", "hail 1", 0)
    host.gets("look", "look raw")


@clause(
    "12.3",
    "a `hail` with another major version is error 4 and no greeting",
    Need.WORLD,
    greets=False,
)
def _other_major(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    for major in (0, 2, 255):
        host.gets(f"hail {major}", "no 4 1")
    host.gets("look", "no 16 0")
    host.gets("hail 1", "hail 1")


@clause(
    "12.4", "a start in motion: the axis rests, home is lost", Need.MOVES, Need.WORLD
)
def _start_in_motion(host: Host) -> None:
    get_moving(host)
    keep(host, 0.1)
    host.world.restart()
    host.wait(0.2)
    host.greet()
    look = host.look()
    host.expect(look.state is State.RAW and look.position == 0, "raw at 0", look)
    _moves_not(host)


@clause(
    "12.5",
    "after a start the rate is the first one",
    Need.WORLD,
    Need.RATE,
    Need.FAST_RATE,
)
def _first_rate(host: Host) -> None:
    host.gets("rate 250000", "rate 250000")
    host.set_rate(250000)
    host.wait(0.005)
    host.gets("look", "look")
    host.world.restart()
    host.set_rate(115200)
    host.wait(0.2)
    host.gets("hail 1", "hail 1")


@clause("12.6", "traits do not change with a start", Need.WORLD)
def _same_traits(host: Host) -> None:
    before = [host.ask(f"trait {index}") for index in range(11)]
    host.world.restart()
    host.wait(0.2)
    host.greet()
    after = [host.ask(f"trait {index}") for index in range(11)]
    host.expect(after == before, f"{before}", after)
