"""What clauses do with the axis: lead it into a state, keep it moving, wait for rest.

All places lie in the first part of the travel, far from the sensor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from firmware_protocol.conformance.clause import Broken, Need, NotApplicable
from firmware_protocol.conformance.host import KEEP_S, Host
from firmware_protocol.messages import (
    EdgeNotice,
    RestCause,
    RestNotice,
    Source,
    State,
    Trait,
)

SESSIONS = 65536
_LONG_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Places and speeds that fit the rig.

    Attributes:
        low: Where the soft limits begin, in steps.
        high: Where the soft limits end, in steps.
        slow: Speed without a ramp, steps/s.
        fast: Speed with a ramp, steps/s.
        acceleration: Acceleration, steps/s^2.
    """

    low: int
    high: int
    slow: int
    fast: int
    acceleration: int

    def at(self, share: float) -> int:
        """Return a place between the soft limits."""
        return self.low + round((self.high - self.low) * share)


def field_of(host: Host) -> Field:
    """Return the field of a rig, from its traits."""
    low, high = host.trait(Trait.TRAVEL_LOW), host.trait(Trait.TRAVEL_HIGH)
    travel, slow = high - low, host.trait(Trait.START_SPEED)
    return Field(
        low=low + travel // 50,
        high=low + travel // 50 + travel // 8,
        slow=slow,
        fast=min(host.trait(Trait.SPEED_LIMIT), 8 * slow),
        acceleration=host.trait(Trait.ACCELERATION_LIMIT) // 2 or 1,
    )


def keep(host: Host, seconds: float) -> None:
    """Let time pass without falling silent."""
    end_s = host.subject.clock_s() + seconds
    while host.subject.clock_s() < end_s:
        host.look()
        host.wait(min(KEEP_S, max(0.0, end_s - host.subject.clock_s())))


def under_way(host: Host, number: int, limit_s: float = _LONG_S) -> Iterator[None]:
    """Yield again and again until a motion order ends, without falling silent.

    Raises:
        Broken: It does not end in time.
    """
    end_s = host.subject.clock_s() + limit_s
    while not _rests(host, number):
        if host.subject.clock_s() > end_s:
            raise Broken(f"a `rest` of request {number}", host.since(-6))
        host.look()
        yield


def rest_of(host: Host, number: int) -> RestNotice:
    """Wait for the end of a motion order without falling silent."""
    for _ in under_way(host, number):
        host.wait(KEEP_S, lambda: bool(_rests(host, number)))
    return _rests(host, number)[-1]


def _rests(host: Host, number: int) -> list[RestNotice]:
    return [n for n in host.notices(RestNotice) if n.request == number]


def begin_motion(host: Host, words: str) -> int:
    """Give a motion order; return its number once it is answered."""
    number = host.number()
    host.gets(words, words.partition(" ")[0], number)
    return number


def order(host: Host, words: str) -> RestNotice:
    """Give a motion order and wait for its end."""
    return rest_of(host, begin_motion(host, words))


def ends(host: Host, words: str, cause: RestCause, position: int | None) -> RestNotice:
    """Give a motion order and expect how and where it ends."""
    rest = order(host, words)
    place = "" if position is None else f" at {position}"
    host.expect(
        rest.cause is cause and position in (None, rest.position),
        f"`{words}` to rest with `{cause}`{place}",
        f"`{rest.cause}` at {rest.position}",
    )
    return rest


def is_in(host: Host, *states: State) -> None:
    """Expect one of these states."""
    state = host.look().state
    host.expect(state in states, f"state {' or '.join(states)}", state)


def home_words(host: Host) -> str:
    """Return a `home` with usual speeds."""
    field = field_of(host)
    return f"home {field.fast} {field.slow}"


def settle(host: Host) -> State:
    """Lead out of motion and `held`; return the state that this led to."""
    if host.look().state in (State.MOVING, State.SEEKING):
        host.send(b"#")
        host.wait(KEEP_S)
    if host.look().state is State.HELD:
        host.ask("rearm")
    return host.look().state


def hold(host: Host) -> None:
    """Send a stop byte and let it take effect."""
    host.send(b"#")
    host.wait(0.03 + host.subject.latency_s)


def other_session(host: Host) -> int:
    """Return the session before the one in force, which no greeting gave lately."""
    return ((host.session or 0) - 1) % SESSIONS


def get_raw(host: Host) -> None:
    """Come to rest, not homed."""
    state = settle(host)
    if state is not State.RAW and not host.moves:
        raise NotApplicable(Need.MOVES.value)
    if state is not State.RAW:
        begin_motion(host, home_words(host))
        host.send(b"#")
        host.wait(KEEP_S)
        state = settle(host)
    host.expect(state is State.RAW, "state raw after a `home` that was stopped", state)


def get_unfenced(host: Host) -> None:
    """Come to rest, homed, without soft limits."""
    if settle(host) is not State.UNFENCED:
        ends(host, home_words(host), RestCause.HOMED, 0)
    is_in(host, State.UNFENCED)


def get_ready(host: Host) -> Field:
    """Come to rest, homed, with the usual soft limits."""
    if settle(host) is not State.READY:
        get_unfenced(host)
    field = field_of(host)
    host.gets(f"fence {field.low} {field.high}", f"fence {field.low} {field.high}")
    is_in(host, State.READY)
    return field


def get_to(host: Host, share: float) -> Field:
    """Come to rest at a place between the soft limits."""
    field = get_ready(host)
    go_to(host, field.at(share))
    return field


def go_to(host: Host, place: int) -> None:
    """Go to a place and expect to come there."""
    field = field_of(host)
    ends(
        host,
        f"go {place} {field.fast} {field.acceleration} 0 0",
        RestCause.THERE,
        place,
    )


def get_moving(host: Host, share: float = 1.0) -> tuple[Field, int]:
    """Be on a slow way from the lower soft limit; return the order's number."""
    field = get_to(host, 0.0)
    number = begin_motion(host, f"go {field.at(share)} {field.slow} 1 0 0")
    is_in(host, State.MOVING)
    return field, number


def get_seeking(host: Host) -> int:
    """Be looking for the home switch, with seconds to go."""
    get_to(host, 1.0)
    number = begin_motion(host, f"home {max(1, field_of(host).slow)} 1")
    is_in(host, State.SEEKING)
    return number


def edges_of(host: Host, source: Source, first: int = 0) -> list[EdgeNotice]:
    """Return the edges of an input among what was heard."""
    return [edge for edge in host.notices(EdgeNotice, first) if edge.source is source]


def fast_words(field: Field, target: int, edges: int = 0, overrun: int = 0) -> str:
    """Return a `go` with ramps."""
    return f"go {target} {field.fast} {field.acceleration} {edges} {overrun}"


def slow_words(field: Field, target: int, edges: int = 0, overrun: int = 0) -> str:
    """Return a `go` that needs none."""
    return f"go {target} {field.slow} 1 {edges} {overrun}"


def offset_of(host: Host) -> int:
    """Return what a place has over the step count; the axis is at rest."""
    return host.world.place() - host.look().position


def moves_not(host: Host, seconds: float = 0.3) -> None:
    """Expect the axis to stand still, also by the world's count where there is one."""
    pulses = None if host.subject.world is None else host.world.pulses()
    before = host.look().position
    host.wait(seconds)
    after = host.look().position
    host.expect(after == before, f"rest at {before}", after)
    if pulses is not None:
        host.expect(host.world.pulses() == pulses, "no pulse", host.world.pulses())


def rests_at(host: Host, rest: RestNotice, cause: RestCause, place: int) -> None:
    """Expect a motion to have ended so."""
    host.expect(
        rest.cause is cause and rest.position == place,
        f"`{cause}` at {place}",
        f"`{rest.cause}` at {rest.position}",
    )


def turn(
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
