"""SPEC.md 11: edges: which instant, how often."""

from __future__ import annotations

from itertools import pairwise

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import edges_of, get_to, go_to, offset_of
from firmware_protocol.conformance.watch import (
    CLOCK_ROUND,
    DRAIN_S,
    NUMBER_ROUND,
    edges_on_the_way,
    numbers,
    slow_gap_s,
)
from firmware_protocol.messages import Source, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause


@clause(
    "11.2",
    "each change of the output is one notice, with level, count and time",
    Need.WORLD,
)
def _each(host: Host) -> None:
    host.world.hold_output(False)
    host.wait(0.1)
    first, start = len(host.heard), host.look()
    levels = [True, False, True, True, False]
    for level in levels:
        host.world.hold_output(level)
        host.wait(slow_gap_s(host))
    end = host.look()
    edges = edges_of(host, Source.OUT, first)
    host.expect(
        [edge.level for edge in edges] == [True, False, True, False],
        "edges to 1, 0, 1, 0",
        host.since(first),
    )
    host.expect(
        [edge.number for edge in edges]
        == [(start.next_notice + i) % NUMBER_ROUND for i in range(4)],
        f"numbers from {start.next_notice} on",
        [edge.number for edge in edges],
    )
    for edge in edges:
        host.expect(edge.position == start.position, f"count {start.position}", edge)
        inside = (edge.time - start.time) % CLOCK_ROUND
        host.expect(
            inside <= (end.time - start.time) % CLOCK_ROUND,
            f"a time between {start.time} and {end.time}",
            edge,
        )


@clause(
    "11.3",
    "the latched count is exact to one step, up and down",
    Need.MOVES,
    Need.WORLD,
)
def _count(host: Host) -> None:
    edges, changes, offset = edges_on_the_way(host)
    host.expect(
        len(edges) == len(changes) > 20,
        f"{len(changes)} edges",
        f"{len(edges)} notices",
    )
    for edge, change in zip(edges, changes, strict=True):
        true = change.pulses - offset
        host.expect(abs(edge.position - true) <= 1, f"count {true}, to a step", edge)


@clause("11.4", "the latched time is exact to two ticks", Need.MOVES, Need.WORLD)
def _time(host: Host) -> None:
    edges, changes, _ = edges_on_the_way(host)
    host.expect(
        len(edges) == len(changes) > 20,
        f"{len(changes)} edges",
        f"{len(edges)} notices",
    )
    # Each of a pair may be off by two ticks, and by the whole µs that times are told in
    room_us = 2 * 2 * host.trait(Trait.TIME_TICK) * 1e-3 + 1
    for edge, change in zip(edges[1:], changes[1:], strict=True):
        came = (edge.time - edges[0].time) % CLOCK_ROUND
        true = change.time_us - changes[0].time_us
        host.expect(
            abs(came - true) <= room_us,
            f"{true:.1f} us after the first edge",
            f"{came} us",
        )


@clause(
    "11.5",
    "what the sensor does at a place is latched there, up and down",
    Need.MOVES,
    Need.WORLD,
)
def _place(host: Host) -> None:
    field = get_to(host, 0.0)
    offset = offset_of(host)
    host.world.set_switching(field.at(0.6) + offset, field.at(0.4) + offset)
    host.wait(0.05)
    first = len(host.heard)
    go_to(host, field.high)
    go_to(host, field.low)
    host.wait(0.2)
    came = [(edge.level, edge.position) for edge in edges_of(host, Source.OUT, first)]
    wanted = [(True, field.at(0.6)), (False, field.at(0.4))]
    host.expect(
        len(came) == 2
        and all(
            c[0] == w[0] and abs(c[1] - w[1]) <= 1
            for c, w in zip(came, wanted, strict=True)
        ),
        f"edges at {wanted}, to a step",
        came,
    )


@clause("11.13", "edges at EDGE_RATE_LIMIT go on without loss", Need.WORLD)
def _sustained(host: Host) -> None:
    host.wait(DRAIN_S)
    first, start, lost = len(host.heard), host.look(), host.tally().lost
    rate = host.trait(Trait.EDGE_RATE_LIMIT)
    level, begun_s, looked_s = bool(start.inputs & 1), host.subject.clock_s(), 0.0
    for index in range(rate * 2):
        level = not level
        host.world.hold_output(level)
        host.wait(begun_s + (index + 1) / rate - host.subject.clock_s())
        if host.subject.clock_s() - looked_s > 0.1:
            host.say("look", 0)
            looked_s = host.subject.clock_s()
    host.wait(DRAIN_S)
    counted = (host.tally().lost - lost) % NUMBER_ROUND
    promised = f"nothing lost at {rate} edges/s, as EDGE_RATE_LIMIT promises"
    host.expect(counted == 0, promised, f"{counted} lost")
    wanted = [(start.next_notice + i) % NUMBER_ROUND for i in range(rate * 2)]
    came = numbers(host, first)
    host.expect(came == wanted, f"{len(wanted)} notices in order", f"{len(came)}")


@clause(
    "11.14", "edges that follow at once are noticed or lost, never merged", Need.WORLD
)
def _not_merged(host: Host) -> None:
    host.world.hold_output(False)
    host.wait(DRAIN_S)
    first, start, lost = len(host.heard), host.look(), host.tally().lost
    for _ in range(5):
        for level in (True, False):
            host.world.hold_output(level)
            host.wait(0.00005)
        host.wait(0.05)
    host.wait(DRAIN_S)
    produced = (host.look().next_notice - start.next_notice) % NUMBER_ROUND
    edges = edges_of(host, Source.OUT, first)
    counted = (host.tally().lost - lost) % NUMBER_ROUND
    host.expect(
        produced == 10 and len(edges) + counted == 10,
        "10 numbers, each noticed or lost",
        f"{produced} numbers, {len(edges)} notices, {counted} lost",
    )
    for one, two in pairwise(edges):
        if two.number == one.number + 1:
            host.expect(one.level is not two.level, "levels in turn", f"{one}, {two}")
