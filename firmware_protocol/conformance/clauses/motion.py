"""SPEC.md 10: `go`, `touch`, contact and silence."""

from __future__ import annotations

from collections.abc import Callable

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host, line
from firmware_protocol.conformance.motion import (
    Field,
    begin_motion,
    edges_of,
    ends,
    field_of,
    get_moving,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    go_to,
    hold,
    is_in,
    keep,
    order,
    rest_of,
    under_way,
)
from firmware_protocol.messages import RestCause, RestNotice, Source, State, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause

_BRAKE_S = 0.002  # within which braking has begun; the spec says "at once"
_FAR = 1_000_000  # steps: beyond every travel that a test has


def offset_of(host: Host) -> int:
    """Return what a place has over the step count; the axis is at rest."""
    return host.world.place() - host.look().position


def _fast(field: Field, target: int, edges: int = 0, overrun: int = 0) -> str:
    return f"go {target} {field.fast} {field.acceleration} {edges} {overrun}"


def _slow(field: Field, target: int, edges: int = 0, overrun: int = 0) -> str:
    return f"go {target} {field.slow} 1 {edges} {overrun}"


def _braking_steps(field: Field) -> float:
    return field.fast**2 / (2.0 * field.acceleration)


# ---- targets and limits


@clause("10.1", "`go` comes to rest at its target: `there`, state `ready`", Need.MOVES)
def _there(host: Host) -> None:
    field = get_to(host, 0.1)
    for share in (0.5, 0.2, 0.21):
        for words in (_fast(field, field.at(share)), _slow(field, field.at(share) + 9)):
            number = begin_motion(host, words)
            rest = rest_of(host, number)
            look = host.look()
            host.expect(
                rest.cause is RestCause.THERE
                and str(rest.position) == words.split()[1]
                and look.position == rest.position,
                f"`there` at the target of `{words}`",
                f"{rest}, then {look}",
            )
            host.expect(look.state is State.READY, "state ready", look.state)


@clause("10.2", "step pulses and step count agree", Need.MOVES, Need.WORLD)
def _pulses(host: Host) -> None:
    field = get_to(host, 0.1)
    offset = host.world.pulses() - host.look().position
    for share in (0.9, 0.3, 0.30001, 0.1):
        go_to(host, field.at(share))
        host.wait(0.02)
        came = host.world.pulses() - offset
        host.expect(came == field.at(share), f"{field.at(share)} by pulses", came)


@clause(
    "10.3",
    "the soft limits themselves are allowed, a step beyond is error 9",
    Need.MOVES,
)
def _limits(host: Host) -> None:
    field = get_ready(host)
    low, high = field.at(0.2), field.at(0.3)
    host.gets(f"fence {low} {high}", f"fence {low} {high}")
    ends(host, _fast(field, low), RestCause.THERE, low)
    ends(host, _fast(field, high), RestCause.THERE, high)
    for target in (low - 1, high + 1, -(2**31), 2**31 - 1):
        host.gets(_fast(field, target), "no 9 1")


@clause("10.4", "soft limits lie within the travel, its ends included", Need.MOVES)
def _travel(host: Host) -> None:
    get_unfenced(host)
    low, high = host.trait(Trait.TRAVEL_LOW), host.trait(Trait.TRAVEL_HIGH)
    host.gets(f"fence {low - 1} {high}", "no 9 1")
    host.gets(f"fence {low} {high + 1}", "no 9 2")
    host.gets(f"fence {low - 1} {high + 1}", "no 9 1")
    host.gets(f"fence {high + 1} {high + 2}", "no 9 1")
    host.gets(f"fence {low - 2} {low - 1}", "no 9 1")
    host.gets("fence -2147483648 2147483647", "no 9 1")
    is_in(host, State.UNFENCED)
    host.gets(f"fence {low} {high}", f"fence {low} {high}")


@clause("10.5", "a refused `fence` leaves the old one in force", Need.MOVES)
def _fence_stays(host: Host) -> None:
    field = get_ready(host)
    host.gets(f"fence {field.low} {host.trait(Trait.TRAVEL_HIGH) + 1}", "no 9 2")
    host.gets(_slow(field, field.high + 1), "no 9 1")
    is_in(host, State.READY)


@clause(
    "10.6",
    "speed and acceleration at their limits are taken, above is error 15",
    Need.MOVES,
)
def _too_fast(host: Host) -> None:
    field = get_to(host, 0.1)
    speed, acceleration = (
        host.trait(Trait.SPEED_LIMIT),
        host.trait(Trait.ACCELERATION_LIMIT),
    )
    target = field.at(0.2)
    if speed < 1_000_000:
        host.gets(f"go {target} {speed + 1} {acceleration} 0 0", "no 15 2")
        host.gets(f"home {speed + 1} {field.slow}", "no 15 1")
    if acceleration < 10_000_000:
        host.gets(f"go {target} {speed} {acceleration + 1} 0 0", "no 15 3")
    host.gets(f"home {field.fast} {field.slow + 1}", "no 15 2")
    ends(host, f"go {target} {speed} {acceleration} 0 0", RestCause.THERE, target)


@clause(
    "10.7",
    "a motion to where the axis is ends at once, with the time of the order",
    Need.MOVES,
)
def _no_way(host: Host) -> None:
    field = get_to(host, 0.1)
    here = field.at(0.1)
    for words in (_fast(field, here), _slow(field, here, 1, 5)):
        host.wait(0.3)
        before = host.look()
        rest = ends(host, words, RestCause.THERE, here)
        after = host.look()
        gone = (rest.time - before.time) % 2**32
        host.expect(
            gone <= (after.time - before.time) % 2**32,
            "the time of the order in `rest`",
            f"{rest.time}, between {before.time} and {after.time}",
        )
        host.expect(after.state is State.READY, "state ready", after.state)


@clause("10.8", "the way there takes the time of constant acceleration", Need.MOVES)
def _duration(host: Host) -> None:
    field = get_to(host, 0.0)
    speed, steps = field.fast, field.high - field.low
    acceleration = max(1, field.acceleration // 4)
    before = host.look()
    rest = order(host, f"go {field.high} {speed} {acceleration} 0 0")
    came_s = ((rest.time - before.time) % 2**32) * 1e-6
    # A ramp may begin at START_SPEED or at 0
    slowest_s = steps / speed + speed / acceleration
    fastest_s = steps / speed + (speed - field.slow) ** 2 / (acceleration * speed)
    room_s = 0.03 + 0.02 * slowest_s + host.subject.latency_s
    host.expect(
        fastest_s - 0.02 * fastest_s <= came_s <= slowest_s + room_s,
        f"{fastest_s:.3f} to {slowest_s:.3f} s",
        f"{came_s:.3f} s",
    )


@clause("10.9", "on its way the count runs from here to there", Need.MOVES)
def _monotone(host: Host) -> None:
    field = get_to(host, 0.1)
    number = begin_motion(host, _fast(field, field.at(0.5)))
    seen = [field.at(0.1)]
    for _ in under_way(host, number):
        seen.append(host.look().position)
        host.wait(0.005)
    host.expect(
        seen == sorted(seen) and seen[-1] <= field.at(0.5), "a rising count", seen[-9:]
    )


# ---- turning on an edge


def _turn(
    host: Host, share: float, words: Callable[[Field], str]
) -> tuple[int, RestNotice, Field]:
    """Go across a switching place in the middle; return the latched position too."""
    field = get_to(host, share)
    middle = field.at(0.5) + offset_of(host)
    host.world.set_switching(middle, middle)
    host.wait(0.02)
    first = len(host.heard)
    rest = order(host, words(field))
    edges = edges_of(host, Source.OUT, first)
    host.expect(len(edges) == 1, "one edge of the output", host.since(first))
    host.expect(edges[0].number < rest.number, "the edge before the `rest`", edges[0])
    return edges[0].position, rest, field


def _rests_at(host: Host, rest: RestNotice, cause: RestCause, place: int) -> None:
    host.expect(
        rest.cause is cause and rest.position == place,
        f"`{cause}` at {place}",
        f"`{rest.cause}` at {rest.position}",
    )


@clause(
    "10.10",
    "after the edge it rests `overrun` steps on, up and down",
    Need.MOVES,
    Need.WORLD,
)
def _overrun(host: Host) -> None:
    for share, way in ((0.1, 1), (0.9, -1)):
        for speed in (_slow, _fast):
            steps = (
                300
                if speed is _slow
                else round(2 * _braking_steps(field_of(host))) + 60
            )
            edge, rest, _ = _turn(
                host,
                share,
                lambda f, w=way, s=steps, v=speed: v(
                    f, f.high if w > 0 else f.low, 1, s
                ),  # type: ignore[misc]
            )
            _rests_at(host, rest, RestCause.TURN, edge + way * steps)


@clause(
    "10.11",
    "without a ramp and with `overrun` 0 it rests where the edge came",
    Need.MOVES,
    Need.WORLD,
)
def _no_overrun(host: Host) -> None:
    for share in (0.4, 0.6):
        edge, rest, _ = _turn(
            host,
            share,
            lambda f, s=share: _slow(f, f.high if s < 0.5 else f.low, 1, 0),  # type: ignore[misc]
        )
        host.expect(
            rest.cause is RestCause.TURN and abs(rest.position - edge) <= 1,
            f"`turn` at {edge}, to a step",
            f"`{rest.cause}` at {rest.position}",
        )


@clause(
    "10.12", "what cannot brake within `overrun` brakes at once", Need.MOVES, Need.WORLD
)
def _brakes(host: Host) -> None:
    for share, way in ((0.1, 1), (0.9, -1)):
        edge, rest, field = _turn(
            host,
            share,
            lambda f, w=way: _fast(f, f.high if w > 0 else f.low, 1, 0),  # type: ignore[misc]
        )
        gone = way * (rest.position - edge)
        most = _braking_steps(field)
        least = most - field.slow**2 / (2.0 * field.acceleration)
        host.expect(
            rest.cause is RestCause.TURN
            and least - 2 <= gone <= most + _BRAKE_S * field.fast + 2,
            f"`turn` {least:.0f} to {most:.0f} steps on",
            f"`{rest.cause}` {gone} steps on",
        )


@clause("10.13", "the target stays a bound for `overrun`", Need.MOVES, Need.WORLD)
def _bound(host: Host) -> None:
    for speed in (_slow, _fast):
        _, rest, field = _turn(
            host,
            0.4,
            lambda f, v=speed: v(f, f.at(0.6), 1, 1_000_000),  # type: ignore[misc]
        )
        _rests_at(host, rest, RestCause.TURN, field.at(0.6))


@clause(
    "10.14",
    "an edge in the last steps before the target makes it a `turn`",
    Need.MOVES,
    Need.WORLD,
)
def _late_edge(host: Host) -> None:
    _, rest, field = _turn(host, 0.1, lambda f: _fast(f, f.at(0.5) + 2, 1, 50))
    _rests_at(host, rest, RestCause.TURN, field.at(0.5) + 2)


@clause("10.15", "with `edges` 0 an edge changes nothing", Need.MOVES, Need.WORLD)
def _no_edges(host: Host) -> None:
    _, rest, field = _turn(host, 0.4, lambda f: _slow(f, f.at(0.6), 0, 10))
    _rests_at(host, rest, RestCause.THERE, field.at(0.6))


@clause(
    "10.16",
    "it turns on the k-th edge, whichever way that goes",
    Need.MOVES,
    Need.WORLD,
)
def _kth(host: Host) -> None:
    field = get_to(host, 0.0)
    host.world.hold_output(False)
    host.wait(0.02)
    first = len(host.heard)
    number = begin_motion(host, _slow(field, field.high, 3, 100))
    for level in (True, False, True):
        keep(host, 0.15)
        host.world.hold_output(level)
    rest = rest_of(host, number)
    edges = edges_of(host, Source.OUT, first)
    host.expect(len(edges) == 3, "three edges", host.since(first))
    _rests_at(host, rest, RestCause.TURN, edges[2].position + 100)


@clause(
    "10.17",
    "without the k-th edge it rests at the target: `there`",
    Need.MOVES,
    Need.WORLD,
)
def _too_few(host: Host) -> None:
    _, rest, field = _turn(host, 0.4, lambda f: _slow(f, f.at(0.6), 2, 10))
    _rests_at(host, rest, RestCause.THERE, field.at(0.6))


@clause("10.18", "edges before the order do not count", Need.MOVES, Need.WORLD)
def _before(host: Host) -> None:
    field = get_to(host, 0.4)
    for level in (True, False, True):
        host.world.hold_output(level)
        host.wait(0.02)
    ends(host, _slow(field, field.at(0.5), 1, 10), RestCause.THERE, field.at(0.5))


# ---- touch probe


@clause(
    "10.20",
    "`touch` rests without a ramp where the probe closes",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _touched(host: Host) -> None:
    field = get_to(host, 0.3)
    offset = offset_of(host)
    host.world.set_probe(field.at(0.35) + offset)
    first = len(host.heard)
    rest = order(host, f"touch {field.high} {field.slow}")
    edges = edges_of(host, Source.PROBE, first)
    host.expect(
        [edge.level for edge in edges] == [True] and edges[0].number == rest.number - 1,
        "one closing of the probe just before the `rest`",
        host.since(first),
    )
    host.expect(
        rest.cause is RestCause.TOUCHED and abs(rest.position - edges[0].position) <= 1,
        f"`touched` at {edges[0].position}",
        f"`{rest.cause}` at {rest.position}",
    )
    host.wait(0.05)
    came = host.world.place() - offset
    host.expect(came == rest.position, f"the target at {rest.position}", came)
    is_in(host, State.READY)


@clause(
    "10.21",
    "`touch` without a touch rests at its target, up and down",
    Need.MOVES,
    Need.TOUCH_PROBE,
)
def _untouched(host: Host) -> None:
    field = get_to(host, 0.3)
    for share in (0.32, 0.3, 0.3):
        place = field.at(share)
        ends(host, f"touch {place} {field.slow}", RestCause.THERE, place)
        is_in(host, State.READY)


@clause(
    "10.22",
    "`touch` is no faster than START_SPEED, and within the soft limits",
    Need.MOVES,
    Need.TOUCH_PROBE,
)
def _touch_limits(host: Host) -> None:
    field = get_to(host, 0.3)
    host.gets(f"touch {field.at(0.4)} {field.slow + 1}", "no 15 2")
    host.gets(f"touch {field.high + 1} {field.slow}", "no 9 1")
    host.gets(f"touch {field.low - 1} {field.slow}", "no 9 1")


@clause(
    "10.23",
    "an edge of the output does not end a `touch`",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _touch_edge(host: Host) -> None:
    _, rest, field = _turn(host, 0.45, lambda f: f"touch {f.at(0.55)} {f.slow}")
    _rests_at(host, rest, RestCause.THERE, field.at(0.55))


@clause(
    "10.24",
    "contact in a `go` stops at once: `contact`, `held`, home given up",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _contact(host: Host) -> None:
    for speed in (_slow, _fast):
        host.world.set_probe(_FAR)
        field = get_to(host, 0.1)
        offset = offset_of(host)
        host.world.set_probe(field.at(0.5) + offset)
        first = len(host.heard)
        rest = order(host, speed(field, field.high))
        host.expect(
            rest.cause is RestCause.CONTACT and abs(rest.position - field.at(0.5)) <= 2,
            f"`contact` at {field.at(0.5)}",
            f"`{rest.cause}` at {rest.position}",
        )
        closings = [edge.level for edge in edges_of(host, Source.PROBE, first)]
        host.expect(closings == [True], "one closing of the probe", host.since(first))
        is_in(host, State.HELD)
        host.gets("rearm", "rearm raw")


@clause(
    "10.25",
    "up with the probe closed is error 12, down is allowed and noticed",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _closed(host: Host) -> None:
    field = get_to(host, 0.3)
    host.world.set_probe(field.at(0.35) + offset_of(host))
    rest = order(host, f"touch {field.high} {field.slow}")
    host.gets(_slow(field, field.high), "no 12 0")
    host.gets(_slow(field, rest.position + 1), "no 12 0")
    host.gets(f"touch {field.high} {field.slow}", "no 12 0")
    ends(host, _slow(field, rest.position), RestCause.THERE, rest.position)
    first = len(host.heard)
    ends(host, _slow(field, field.at(0.3)), RestCause.THERE, field.at(0.3))
    levels = [edge.level for edge in edges_of(host, Source.PROBE, first)]
    host.expect(levels == [False], "the opening of the probe", host.since(first))


@clause("10.26", "without a probe `touch` is error 11", Need.MOVES, Need.NO_TOUCH_PROBE)
def _no_probe(host: Host) -> None:
    field = get_ready(host)
    host.gets(f"touch {field.high} {field.slow}", "no 11 0")


# ---- silence


def _limit_s(host: Host) -> float:
    return host.trait(Trait.SILENCE_LIMIT) * 1e-3


def _falls_silent(host: Host, chatter: bytes = b"") -> None:
    """Send nothing that counts, and expect the axis to stop for it in time."""
    first = len(host.heard)
    last = host.look()
    end_s = host.subject.clock_s() + _limit_s(host) + 0.2 + host.subject.latency_s
    while host.subject.clock_s() < end_s:
        if chatter:
            host.send(chatter)
        host.wait(0.05)
    rests = host.notices(RestNotice, first)
    host.expect(
        [rest.cause for rest in rests] == [RestCause.SILENT],
        "one `rest` with cause `silent`",
        host.since(first),
    )
    took_s = ((rests[0].time - last.time) % 2**32) * 1e-6
    # The last step came some time before the limit: as much as a step takes
    early_s = 0.005 + 1.0 / field_of(host).slow
    host.expect(
        _limit_s(host) - early_s <= took_s <= _limit_s(host) + 0.05,
        f"a stop after {_limit_s(host):.3f} s",
        f"{took_s:.3f} s",
    )
    is_in(host, State.HELD)
    host.gets("rearm", "rearm raw")


@clause(
    "10.30",
    "silence in `moving` stops the axis: `silent`, `held`, home given up",
    Need.MOVES,
)
def _silent(host: Host) -> None:
    get_moving(host)
    _falls_silent(host)


@clause("10.31", "silence in `seeking` does the same", Need.MOVES)
def _silent_seeking(host: Host) -> None:
    get_seeking(host)
    _falls_silent(host)


@clause("10.32", "lines with other marks do not count against silence", Need.MOVES)
def _echo(host: Host) -> None:
    get_moving(host)
    _falls_silent(
        host, line("a5 look") + line("n5 edge 0 out 1 1 1") + line("x5 no 1 0")
    )


@clause("10.33", "damaged lines and bytes outside lines do not count", Need.MOVES)
def _noise(host: Host) -> None:
    get_moving(host)
    _falls_silent(host, b"&q0 look 0000\n" + b"xyz\n" + b"&q0 lo")


@clause("10.34", "any request keeps the axis moving, also a refused one", Need.MOVES)
def _refused_counts(host: Host) -> None:
    get_moving(host)
    for words in (
        "bogus",
        "rearm",
        "go 1",
        "look",
        "hail 1",
        "hail 9",
        "tally",
        "bogus",
    ):
        host.ask(words)
        host.wait(_limit_s(host) * 0.6)
        rests = host.notices(RestNotice)[-1:]
        host.expect(
            not rests or rests[-1].cause is not RestCause.SILENT,
            f"motion kept up by `{words}`",
            host.since(-3),
        )
    hold(host)


@clause("10.35", "a repeated request counts too", Need.MOVES)
def _repeat_counts(host: Host) -> None:
    field = get_to(host, 0.0)
    words = _slow(field, field.high)
    number = begin_motion(host, words)
    for _ in range(4):
        host.wait(_limit_s(host) * 0.6)
        host.gets(words, "go", number)
    is_in(host, State.MOVING)
    hold(host)


@clause("10.36", "the order itself is the first line that counts", Need.MOVES)
def _first_line(host: Host) -> None:
    field = get_to(host, 0.0)
    first = len(host.heard)
    host.wait(2.2)
    before = host.look()
    begin_motion(host, _slow(field, field.high))
    host.wait(_limit_s(host) + 0.2 + host.subject.latency_s)
    rests = host.notices(RestNotice, first)
    took_s = ((rests[0].time - before.time) % 2**32) * 1e-6 if rests else 0.0
    host.expect(
        bool(rests) and took_s >= _limit_s(host) - 0.005 - 1.0 / field.slow,
        f"a stop {_limit_s(host):.3f} s after the order",
        host.since(first),
    )
