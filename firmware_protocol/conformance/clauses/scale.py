"""SPEC.md 7 and 11: a scale that is counted and latched with each edge."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    edges_of,
    get_raw,
    get_unfenced,
    hold,
    home_words,
    order,
)
from firmware_protocol.conformance.watch import edges_on_the_way, slow_gap_s
from firmware_protocol.messages import (
    EdgeNotice,
    Quantity,
    ReadAnswer,
    RestCause,
    Source,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause

_ROUND = 65536
_READ = f"read {int(Quantity.SCALE)}"
# Steps by hand: of a scale of 5 counts for 4 steps the last two go past half a round
_SHIFTS = (700, -900, 40000, -75000)


def _count(host: Host) -> int:
    heard = host.asked(_READ, 0)
    if not isinstance(heard.message, ReadAnswer):
        raise Broken(f"an answer to `{_READ}`", f"`{heard.text}`")
    return heard.message.value


def _field(edge: EdgeNotice) -> int:
    if edge.scale is None:
        raise Broken("a last field with the scale", str(edge))
    return edge.scale


def _toggled(host: Host) -> EdgeNotice:
    """Let the output change once at rest; return the edge."""
    first, level = len(host.heard), bool(host.look().inputs & 1)
    host.world.hold_output(not level)
    host.wait(slow_gap_s(host) + 0.02)
    edges = edges_of(host, Source.OUT, first)
    host.expect(len(edges) == 1, "one edge of the output", host.since(first))
    return edges[0]


def _wrapped(count: int) -> int:
    return (count + _ROUND // 2) % _ROUND - _ROUND // 2


def _room(host: Host) -> int:
    """Return the counts of a step, rounded up, and one more."""
    return 1 - -host.trait(Trait.SCALE_PER_M) // host.trait(Trait.STEPS_PER_M)


def _apart(came: int, true: int) -> int:
    return abs(_wrapped(came - true))


@clause("7.38", "SCALE_PER_M tells the counts of a metre", Need.SCALE)
def _per_m(host: Host) -> None:
    counts = host.trait(Trait.SCALE_PER_M)
    host.expect(counts > 0, "SCALE_PER_M above 0", counts)
    told = bool(host.trait(Trait.QUANTITIES) & 1 << Quantity.SCALE)
    host.expect(told, "SCALE among QUANTITIES", host.trait(Trait.QUANTITIES))


@clause(
    "7.39",
    "without a scale SCALE_PER_M is 0 and `read` does not tell it",
    Need.NO_SCALE,
)
def _no_scale(host: Host) -> None:
    counts = host.trait(Trait.SCALE_PER_M)
    host.expect(counts == 0, "SCALE_PER_M 0", counts)
    host.gets(_READ, "no 11 0")


@clause(
    "11.21", "without a scale an edge ends with its time", Need.WORLD, Need.NO_SCALE
)
def _no_field(host: Host) -> None:
    edge = _toggled(host)
    host.expect(edge.scale is None, "an edge without a scale", edge)


@clause(
    "11.22",
    "an edge ends with the scale's count less its position",
    Need.WORLD,
    Need.SCALE,
)
def _difference(host: Host) -> None:
    for _ in range(2):
        edge, count = _toggled(host), _count(host)
        apart = _apart(_field(edge), count - edge.position)
        host.expect(apart <= 1, f"scale {_wrapped(count - edge.position)}", edge)


@clause(
    "11.23",
    "the scale is latched at the edge, fast up and down",
    Need.MOVES,
    Need.WORLD,
    Need.SCALE,
)
def _latched(host: Host) -> None:
    get_unfenced(host)
    offset = host.world.scale() - _count(host)
    edges, changes, _ = edges_on_the_way(host)
    host.expect(
        len(edges) == len(changes) > 20,
        f"{len(changes)} edges",
        f"{len(edges)} notices",
    )
    for edge, change in zip(edges, changes, strict=True):
        true = change.scale - offset
        apart = _apart(_field(edge) + edge.position, true)
        host.expect(apart <= _room(host), f"the scale's count {true}", edge)


@clause(
    "11.24",
    "`home` makes the scale's count 0 where it makes the step count 0",
    Need.MOVES,
    Need.WORLD,
    Need.SCALE,
)
def _zero(host: Host) -> None:
    host.world.shift(300)
    before = host.world.scale() - _count(host)
    host.world.changes()
    first = len(host.heard)
    rest = order(host, home_words(host))
    host.expect(rest.cause is RestCause.HOMED, "`homed`", rest)
    closings = [c for c in host.world.changes() if c.source is Source.HOME and c.level]
    zero = closings[-1].scale
    count = _count(host)
    apart = abs(count - (host.world.scale() - zero))
    host.expect(apart <= _room(host), f"{host.world.scale() - zero}", count)
    edges = [edge for edge in edges_of(host, Source.HOME, first) if edge.level]
    host.expect(bool(edges), "an edge of the home switch", host.since(first))
    edge = edges[-1]
    true = zero - before - edge.position
    apart = _apart(_field(edge), true)
    host.expect(apart <= _room(host), f"scale {_wrapped(true)}, before it is 0", edge)


@clause(
    "11.25",
    "the scale follows the target, not the steps, and its difference wraps",
    Need.WORLD,
    Need.SCALE,
)
def _follows(host: Host) -> None:
    get_raw(host)
    offset = host.world.scale() - _count(host)
    for steps in _SHIFTS:
        host.world.shift(steps)
        true = host.world.scale() - offset
        count, edge = _count(host), _toggled(host)
        host.expect(abs(count - true) <= 1, f"count {true}", count)
        wanted = _wrapped(true - edge.position)
        host.expect(_apart(_field(edge), wanted) <= 1, f"scale {wanted}", edge)


@clause("11.26", "the scale is counted in `held` too", Need.WORLD, Need.SCALE)
def _held(host: Host) -> None:
    hold(host)
    before, true = _count(host), host.world.scale()
    host.world.shift(800)
    moved, came = host.world.scale() - true, _count(host) - before
    host.gets("rearm", "rearm raw")
    host.expect(abs(came - moved) <= 1, f"{moved} counts on", came)
