"""SPEC.md 10: `home`, the room at its switch, and faults."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    edges_of,
    ends,
    field_of,
    get_raw,
    get_ready,
    get_to,
    get_unfenced,
    go_to,
    home_words,
    is_in,
    keep,
    moves_not,
    offset_of,
    order,
    rest_of,
    under_way,
)
from firmware_protocol.conformance.watch import CLOCK_ROUND
from firmware_protocol.messages import (
    Fault,
    FaultNotice,
    Input,
    RestCause,
    RestNotice,
    Source,
    State,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause

_FAR = 10_000_000
_ROUNDING_STEPS = 12  # of "a tenth more", and of a step or two about an edge


@clause("10.40", "`home` ends in `unfenced` with count 0: `homed`", Need.MOVES)
def _homed(host: Host) -> None:
    get_raw(host)
    number = begin_motion(host, home_words(host))
    is_in(host, State.SEEKING)
    rest = rest_of(host, number)
    host.expect(
        rest.cause is RestCause.HOMED and rest.position == 0, "`homed` at 0", rest
    )
    look = host.look()
    host.expect(
        look.state is State.UNFENCED and look.position == 0, "unfenced, 0", look
    )


@clause(
    "10.41",
    "only the last closing of the home switch is noticed, before `rest`",
    Need.MOVES,
)
def _one_edge(host: Host) -> None:
    for share in (0.2, None):
        if share is not None:
            get_to(host, share)
        first = len(host.heard)
        rest = order(host, home_words(host))
        edges = edges_of(host, Source.HOME, first)
        host.expect(
            [edge.level for edge in edges] == [True]
            and (rest.number - edges[0].number) % 65536 == 1,
            "one closing of the home switch, just before the `rest`",
            host.since(first),
        )


@clause(
    "10.42", "its count is by how much the count had gone wrong", Need.MOVES, Need.WORLD
)
def _gone_wrong(host: Host) -> None:
    for steps in (0, 300, -150):
        get_to(host, 0.3)
        host.world.shift(steps)
        first = len(host.heard)
        order(host, home_words(host))
        came = edges_of(host, Source.HOME, first)[-1].position
        host.expect(abs(came + steps) <= 1, f"a count of {-steps}, to a step", came)
        host.expect(host.look().position == 0, "count 0 after it", host.look())


@clause(
    "10.43",
    "up, slowly, HOME_CLEAR past the opening, and down again",
    Need.MOVES,
    Need.WORLD,
)
def _past(host: Host) -> None:
    field = get_to(host, 0.1)
    host.world.changes()
    number = begin_motion(host, f"home {field.fast} {max(1, field.slow // 4)}")
    highest, opened = -_FAR, None
    for _ in under_way(host, number):
        for _ in range(25):
            host.wait(0.002)
            for change in host.world.changes():
                if change.source is Source.HOME and not change.level:
                    opened = change.pulses
                    highest = opened
            if opened is not None:
                highest = max(highest, host.world.pulses())
    if opened is None:
        raise Broken("the home switch to open", host.since(-4))
    went = highest - opened
    past = host.trait(Trait.HOME_CLEAR)
    host.expect(abs(went - past) <= 2, f"{past} steps past it", went)


@clause(
    "10.44",
    "with the switch closed to begin with, the first part is left out",
    Need.MOVES,
    Need.WORLD,
)
def _closed_first(host: Host) -> None:
    get_unfenced(host)
    lowest = place = host.world.place()
    number = begin_motion(host, home_words(host))
    for _ in under_way(host, number):
        lowest = min(lowest, host.world.place())
        host.wait(0.005)
    host.expect(lowest >= place - 1, f"no place below {place}", lowest)
    rest = rest_of(host, number)
    host.expect(rest.cause is RestCause.HOMED, "`homed`", rest)


def _fails(host: Host, number: int, fault: Fault) -> RestNotice:
    """Expect a motion to end with this fault, its notice just before the `rest`."""
    rest = rest_of(host, number)
    faults = host.notices(FaultNotice)
    host.expect(
        rest.cause is RestCause.FAULT
        and bool(faults)
        and faults[-1].fault == fault
        and (rest.number - faults[-1].number) % 65536 == 1,
        f"`fault` {int(fault)}, then `rest` with cause `fault`",
        host.since(-4),
    )
    is_in(host, State.HELD)
    told = host.tally().fault
    host.expect(told == fault, f"fault {int(fault)} in `tally`", told)
    host.gets("rearm", "rearm raw")
    told = host.tally().fault
    host.expect(told == fault, "the fault in `tally` after `rearm`", told)
    return rest


def _close_to(host: Host, came: int, steps: int) -> None:
    host.expect(
        abs(came - steps) <= _ROUNDING_STEPS, f"about {steps} steps searched", came
    )


@clause(
    "10.45",
    "a switch that never closes: fault 3 after the travel and a tenth",
    Need.MOVES,
    Need.WORLD,
)
def _never_closes(host: Host) -> None:
    field = get_to(host, 0.1)
    host.world.set_home(-_FAR, 10 - _FAR)
    before = host.world.pulses()
    speed = host.trait(Trait.SPEED_LIMIT)
    _fails(host, begin_motion(host, f"home {speed} {field.slow}"), Fault.HOME_NOT_FOUND)
    # Whether the travel begins at TRAVEL_LOW or at the switch is left open
    low, high = host.trait(Trait.TRAVEL_LOW), host.trait(Trait.TRAVEL_HIGH)
    travels = sorted((high, high - low))
    came = before - host.world.pulses()
    host.expect(
        1.1 * travels[0] - _ROUNDING_STEPS
        <= came
        <= 1.1 * travels[1] + _ROUNDING_STEPS,
        f"about {1.1 * travels[1]:.0f} steps searched",
        came,
    )


@clause(
    "10.46",
    "a switch that does not open: fault 4 after HOME_SEARCH",
    Need.MOVES,
    Need.WORLD,
)
def _never_opens(host: Host) -> None:
    get_unfenced(host)
    host.world.set_home(0, _FAR)
    before = host.world.pulses()
    _fails(host, begin_motion(host, home_words(host)), Fault.HOME_STUCK)
    _close_to(host, host.world.pulses() - before, host.trait(Trait.HOME_SEARCH))


@clause(
    "10.47",
    "a switch that does not close again: fault 3 after HOME_SEARCH",
    Need.MOVES,
    Need.WORLD,
)
def _not_again(host: Host) -> None:
    get_unfenced(host)
    host.world.changes()
    number = begin_motion(host, home_words(host))
    end_s = host.subject.clock_s() + 20.0
    while not host.world.changes() and host.subject.clock_s() < end_s:
        host.look()
        host.wait(0.005)
    opened = host.world.pulses()
    host.world.set_home(-_FAR, 10 - _FAR)
    _fails(host, number, Fault.HOME_NOT_FOUND)
    left = host.trait(Trait.HOME_SEARCH) - host.trait(Trait.HOME_CLEAR)
    _close_to(host, opened - host.world.pulses(), left)


def _part_begins(host: Host, number: int, closings: int) -> None:
    """Wait until the home switch has changed so often."""
    seen = 0
    for _ in under_way(host, number):
        seen += sum(change.source is Source.HOME for change in host.world.changes())
        if seen >= closings:
            return
        host.wait(0.01)
    raise Broken(f"{closings} changes of the home switch", host.since(-4))


@clause(
    "10.48",
    "the probe closing in any part of `home` stops it at once: fault 7",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _contact(host: Host) -> None:
    # On the fast way down, up off the switch, and on the last way down; from the face
    # all of them, on an axis that runs the wrong way
    for changes in (0, 1, 2):
        host.world.set_probe(_FAR)
        get_to(host, 0.2)
        host.world.changes()
        first = len(host.heard)
        number = begin_motion(host, home_words(host))
        _part_begins(host, number, changes)
        keep(host, 0.02)
        host.world.changes()
        host.world.set_probe(-_FAR)
        rest = _fails(host, number, Fault.PROBE_UNEXPECTED)
        edges = edges_of(host, Source.PROBE, first)
        host.expect(
            [edge.level for edge in edges] == [True]
            and (rest.number - edges[0].number) % 65536 == 2,
            "one closing of the probe, just before the fault",
            host.since(first),
        )
        closed = [c.pulses for c in host.world.changes() if c.source is Source.PROBE]
        past = host.world.pulses() - closed[-1]
        host.expect(abs(past) <= 1, f"rest at {closed[-1]}, to a step", past)


@clause(
    "10.55",
    "from a closed probe `home` goes down slowly first, until it opens",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _from_the_face(host: Host) -> None:
    field, steps = get_to(host, 0.2), _clear_steps(host) // 2
    host.world.set_probe(host.world.place() - steps)
    host.wait(0.1)
    first, before, slow = len(host.heard), host.look(), max(1, field.slow // 2)
    rest = order(host, f"home {field.fast} {slow}")
    edges = edges_of(host, Source.PROBE, first)
    host.expect(
        [edge.level for edge in edges] == [False]
        and abs(before.position - edges[0].position - steps) <= 2,
        f"the opening of the probe after {steps} steps",
        host.since(first),
    )
    took_s = (edges[0].time - before.time) % CLOCK_ROUND * 1e-6
    host.expect(
        took_s >= 0.9 * steps / slow,
        f"{steps} steps in {steps / slow:.3f} s or more",
        f"{took_s:.3f} s",
    )
    host.expect(rest.cause is RestCause.HOMED, "`homed`", rest)


@clause(
    "10.56",
    "a probe that does not open: fault 7 after STEPS_PER_M / 2000 steps",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _stays_closed(host: Host) -> None:
    get_to(host, 0.2)
    host.world.set_probe(-_FAR)
    host.wait(0.1)
    before = host.world.pulses()
    number = begin_motion(host, home_words(host))
    _fails(host, number, Fault.PROBE_UNEXPECTED)
    _close_to(host, before - host.world.pulses(), _clear_steps(host))


@clause(
    "10.57",
    "with the probe and the home switch closed `home` is error 12",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _both_closed(host: Host) -> None:
    get_unfenced(host)
    host.world.set_probe(-_FAR)
    host.wait(0.1)
    host.gets(home_words(host), "no 12 0")
    is_in(host, State.UNFENCED)
    moves_not(host)
    host.world.set_probe(_FAR)
    host.wait(0.1)
    ends(host, home_words(host), RestCause.HOMED, 0)


def _clear_steps(host: Host) -> int:
    return host.trait(Trait.STEPS_PER_M) // 2000


@clause("10.49", "no allowed target closes the home switch", Need.MOVES)
def _room(host: Host) -> None:
    get_unfenced(host)
    field = field_of(host)
    low = host.trait(Trait.TRAVEL_LOW)
    host.gets(f"fence {low} {field.high}", f"fence {low} {field.high}")
    ends(
        host,
        f"go {field.high} {field.fast} {field.acceleration} 0 0",
        RestCause.THERE,
        field.high,
    )
    ends(host, f"go {low} {field.fast} {field.acceleration} 0 0", RestCause.THERE, low)
    inputs = host.look().inputs
    host.expect(not inputs & Input.HOME, "the home switch open at TRAVEL_LOW", inputs)


@clause(
    "11.20",
    "edges of the home switch are noticed in the last part of `home` alone",
    Need.MOVES,
    Need.WORLD,
)
def _home_edges(host: Host) -> None:
    get_raw(host)
    first = len(host.heard)
    ends(host, home_words(host), RestCause.HOMED, 0)
    levels = [edge.level for edge in edges_of(host, Source.HOME, first)]
    host.expect(levels == [True], "one edge of the home switch", host.since(first))
    field = get_ready(host)
    first = len(host.heard)
    go_to(host, field.at(0.1))
    place = host.world.place()
    host.world.set_home(place + 10, place + 50)
    host.wait(0.1)
    host.world.set_home(place - 5000, place - 4960)
    host.wait(0.1)
    came = edges_of(host, Source.HOME, first)
    host.expect(not came, "no edge of the home switch", came)


@clause("10.50", "the home switch closing in `go` is fault 5", Need.MOVES, Need.WORLD)
def _unexpected(host: Host) -> None:
    field = get_to(host, 0.5)
    place = host.world.place()
    host.world.set_home(place - 200, place - 160)
    words = f"go {field.low} {field.slow} 1 0 0"
    rest = _fails(host, begin_motion(host, words), Fault.HOME_UNEXPECTED)
    place = field.at(0.5) - 200
    host.expect(abs(rest.position - place) <= 1, f"rest at {place}", rest)


@clause(
    "10.51",
    "the home switch closing in `touch` is fault 5",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _unexpected_touch(host: Host) -> None:
    field = get_to(host, 0.5)
    place = host.world.place()
    host.world.set_home(place - 200, place - 160)
    words = f"touch {field.low} {field.slow}"
    _fails(host, begin_motion(host, words), Fault.HOME_UNEXPECTED)


@clause(
    "10.52",
    "loss of the supply in motion is fault 6",
    Need.MOVES,
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _supply(host: Host) -> None:
    field = get_to(host, 0.1)
    number = begin_motion(host, f"go {field.high} {field.slow} 1 0 0")
    keep(host, 0.1)
    host.world.set_supply(False)
    _fails(host, number, Fault.SUPPLY_LOST)


@clause(
    "10.53",
    "without supply motion is allowed after `rearm`; a start is no fault",
    Need.MOVES,
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _without_supply(host: Host) -> None:
    get_ready(host)
    host.world.set_supply(False)
    host.wait(0.2)
    host.gets("rearm", "rearm ready")
    go_to(host, field_of(host).at(0.2))
    host.world.restart()
    host.wait(0.2)
    host.greet()
    is_in(host, State.RAW)
    host.expect(host.tally().fault == 0, "no fault in `tally`", host.tally())


@clause("10.54", "`home` again after a fault finds home again", Need.MOVES, Need.WORLD)
def _again(host: Host) -> None:
    field = get_to(host, 0.5)
    place = host.world.place()
    home = offset_of(host)
    host.world.set_home(place - 200, place - 160)
    words = f"go {field.low} {field.slow} 1 0 0"
    _fails(host, begin_motion(host, words), Fault.HOME_UNEXPECTED)
    host.world.set_home(home, home + 40)
    ends(host, home_words(host), RestCause.HOMED, 0)
