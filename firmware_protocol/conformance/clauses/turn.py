"""SPEC.md 10: turning on an edge."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    Field,
    begin_motion,
    edges_of,
    ends,
    fast_words,
    field_of,
    get_to,
    keep,
    rest_of,
    rests_at,
    slow_words,
    turn,
)
from firmware_protocol.messages import RestCause, Source, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause

_BRAKE_S = 0.005  # within which braking has begun
_SHORTEST_S = 20e-6  # pulses that a world can make


def _braking_steps(field: Field) -> float:
    return field.fast**2 / (2.0 * field.acceleration)


@clause(
    "10.10",
    "after the edge it rests `overrun` steps on, up and down",
    Need.MOVES,
    Need.WORLD,
)
def _overrun(host: Host) -> None:
    for share, way in ((0.1, 1), (0.9, -1)):
        for speed in (slow_words, fast_words):
            steps = (
                300
                if speed is slow_words
                else round(2 * _braking_steps(field_of(host))) + 60
            )
            edge, rest, _ = turn(
                host,
                share,
                lambda f, w=way, s=steps, v=speed: v(
                    f, f.high if w > 0 else f.low, 1, s
                ),  # type: ignore[misc]
            )
            rests_at(host, rest, RestCause.TURN, edge + way * steps)


@clause(
    "10.11",
    "without a ramp and with `overrun` 0 it rests where the edge came",
    Need.MOVES,
    Need.WORLD,
)
def _no_overrun(host: Host) -> None:
    for share in (0.4, 0.6):
        edge, rest, _ = turn(
            host,
            share,
            lambda f, s=share: slow_words(f, f.high if s < 0.5 else f.low, 1, 0),  # type: ignore[misc]
        )
        host.expect(
            rest.cause is RestCause.TURN and abs(rest.position - edge) <= 1,
            f"`turn` at {edge}, to a step",
            f"`{rest.cause}` at {rest.position}",
        )


@clause(
    "10.12",
    "what cannot brake within `overrun` begins to within 5 ms",
    Need.MOVES,
    Need.WORLD,
)
def _brakes(host: Host) -> None:
    for share, way in ((0.1, 1), (0.9, -1)):
        edge, rest, field = turn(
            host,
            share,
            lambda f, w=way: fast_words(f, f.high if w > 0 else f.low, 1, 0),  # type: ignore[misc]
        )
        gone = way * (rest.position - edge)
        # A ramp may end at START_SPEED or at 0; a step or two either way is rounding
        least = _braking_steps(field) - field.slow**2 / (2.0 * field.acceleration) - 2
        most = _braking_steps(field) + _BRAKE_S * field.fast + 2
        host.expect(
            rest.cause is RestCause.TURN and least <= gone <= most,
            f"`turn` {least:.0f} to {most:.0f} steps on, braking begun within 5 ms",
            f"`{rest.cause}` {gone} steps on",
        )


@clause("10.13", "the target stays a bound for `overrun`", Need.MOVES, Need.WORLD)
def _bound(host: Host) -> None:
    for speed in (slow_words, fast_words):
        _, rest, field = turn(
            host,
            0.4,
            lambda f, v=speed: v(f, f.at(0.6), 1, 1_000_000),  # type: ignore[misc]
        )
        rests_at(host, rest, RestCause.TURN, field.at(0.6))


@clause(
    "10.14",
    "an edge in the last steps before the target makes it a `turn`",
    Need.MOVES,
    Need.WORLD,
)
def _late_edge(host: Host) -> None:
    _, rest, field = turn(host, 0.1, lambda f: fast_words(f, f.at(0.5) + 2, 1, 50))
    rests_at(host, rest, RestCause.TURN, field.at(0.5) + 2)


@clause("10.15", "with `edges` 0 an edge changes nothing", Need.MOVES, Need.WORLD)
def _no_edges(host: Host) -> None:
    _, rest, field = turn(host, 0.4, lambda f: slow_words(f, f.at(0.6), 0, 10))
    rests_at(host, rest, RestCause.THERE, field.at(0.6))


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
    number = begin_motion(host, slow_words(field, field.high, 3, 100))
    for level in (True, False, True):
        keep(host, 0.15)
        host.world.hold_output(level)
    rest = rest_of(host, number)
    edges = edges_of(host, Source.OUT, first)
    host.expect(len(edges) == 3, "three edges", host.since(first))
    rests_at(host, rest, RestCause.TURN, edges[2].position + 100)


@clause(
    "10.17",
    "without the k-th edge it rests at the target: `there`",
    Need.MOVES,
    Need.WORLD,
)
def _too_few(host: Host) -> None:
    _, rest, field = turn(host, 0.4, lambda f: slow_words(f, f.at(0.6), 2, 10))
    rests_at(host, rest, RestCause.THERE, field.at(0.6))


def _spike(host: Host, seconds: float) -> None:
    """Let the output be 1 for so long."""
    host.world.hold_output(True)
    host.world.pass_time(seconds)
    host.world.hold_output(False)


@clause(
    "10.70",
    "a level shorter than MIN_PULSE is noticed and does not count for the turn",
    Need.MOVES,
    Need.WORLD,
    Need.PATIENCE,
)
def _short_pulse(host: Host) -> None:
    short_s = host.trait(Trait.MIN_PULSE) * 1e-6 * 0.6
    if short_s < _SHORTEST_S:
        return
    for words in (slow_words, fast_words):
        field = get_to(host, 0.0)
        host.world.hold_output(False)
        host.wait(0.02)
        first = len(host.heard)
        number = begin_motion(host, words(field, field.at(0.5), 1, 0))
        keep(host, 0.05)
        _spike(host, short_s)
        host.wait(0.05)
        _spike(host, short_s)
        rest = rest_of(host, number)
        rests_at(host, rest, RestCause.THERE, field.at(0.5))
        counted = host.tally().lost + len(edges_of(host, Source.OUT, first))
        host.expect(counted == 4, "four edges, noticed or lost", host.since(first))


@clause(
    "10.71",
    "a level that lasts MIN_PULSE counts, from where it began",
    Need.MOVES,
    Need.WORLD,
    Need.PATIENCE,
)
def _lasting_pulse(host: Host) -> None:
    length_s = host.trait(Trait.MIN_PULSE) * 1e-6 * 1.2 + 1e-4
    for words, overrun in ((slow_words, 100), (fast_words, 0)):
        field = get_to(host, 0.0)
        overrun = overrun or round(2 * _braking_steps(field)) + 60
        host.world.hold_output(False)
        host.wait(0.02)
        first = len(host.heard)
        number = begin_motion(host, words(field, field.high, 1, overrun))
        keep(host, 0.05)
        _spike(host, length_s)
        rest = rest_of(host, number)
        edges = edges_of(host, Source.OUT, first)
        host.expect(len(edges) == 2, "two edges", host.since(first))
        rests_at(host, rest, RestCause.TURN, edges[0].position + overrun)


@clause("10.18", "edges before the order do not count", Need.MOVES, Need.WORLD)
def _before(host: Host) -> None:
    field = get_to(host, 0.4)
    for level in (True, False, True):
        host.world.hold_output(level)
        host.wait(0.02)
    ends(host, slow_words(field, field.at(0.5), 1, 10), RestCause.THERE, field.at(0.5))
