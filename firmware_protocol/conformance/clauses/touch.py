"""SPEC.md 10: `touch`, contact, and the probe closed."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    edges_of,
    ends,
    fast_words,
    get_ready,
    get_to,
    is_in,
    offset_of,
    order,
    rests_at,
    slow_words,
    turn,
)
from firmware_protocol.messages import Input, RestCause, Source, State

CHAPTER = Chapter()
clause = CHAPTER.clause

_FAR = 1_000_000  # steps: beyond every travel that a test has


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
    _, rest, field = turn(host, 0.45, lambda f: f"touch {f.at(0.55)} {f.slow}")
    rests_at(host, rest, RestCause.THERE, field.at(0.55))


@clause(
    "10.24",
    "contact in a `go` stops at once: `contact`, `held`, home given up",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _contact(host: Host) -> None:
    for speed in (slow_words, fast_words):
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
    host.gets(slow_words(field, field.high), "no 12 0")
    host.gets(slow_words(field, rest.position + 1), "no 12 0")
    host.gets(f"touch {field.high} {field.slow}", "no 12 0")
    ends(host, slow_words(field, rest.position), RestCause.THERE, rest.position)
    first = len(host.heard)
    ends(host, slow_words(field, field.at(0.3)), RestCause.THERE, field.at(0.3))
    levels = [edge.level for edge in edges_of(host, Source.PROBE, first)]
    host.expect(levels == [False], "the opening of the probe", host.since(first))


@clause(
    "10.27",
    "`PROBE_SEEN` tells whether the touch probe has changed since the start",
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _seen(host: Host) -> None:
    for levels in ((), (True,), (True, False)):
        host.world.set_probe(_FAR)
        host.world.restart()
        host.wait(0.2)
        host.greet()
        for level in levels:
            host.world.set_probe(-_FAR if level else _FAR)
            host.wait(0.05)
        inputs = host.look().inputs
        host.expect(
            bool(inputs & Input.PROBE_SEEN) is bool(levels),
            f"PROBE_SEEN after {len(levels)} changes: {bool(levels)}",
            inputs,
        )


@clause("10.26", "without a probe `touch` is error 11", Need.MOVES, Need.NO_TOUCH_PROBE)
def _no_probe(host: Host) -> None:
    field = get_ready(host)
    host.gets(f"touch {field.high} {field.slow}", "no 11 0")
