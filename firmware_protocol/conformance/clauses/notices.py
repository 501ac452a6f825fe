"""SPEC.md 11: edges and other notices, the ring, what wraps."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need, NotApplicable
from firmware_protocol.conformance.clauses.motion import offset_of
from firmware_protocol.conformance.host import ANSWER_S, Heard, Host, line
from firmware_protocol.conformance.motion import (
    begin_motion,
    edges_of,
    field_of,
    get_ready,
    get_to,
    go_to,
    home_words,
    order,
    rest_of,
    under_way,
)
from firmware_protocol.conformance.subject import Change
from firmware_protocol.messages import (
    LONGEST_LINE_BYTES,
    EdgeNotice,
    Notice,
    Source,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause

_ROUND = 65536
_CLOCK_ROUND = 2**32
_DRAIN_S = 0.6


def _toggle(host: Host, count: int, gap_s: float) -> None:
    """Change the output so many times, so far apart."""
    level = bool(host.look().inputs & 1)
    for _ in range(count):
        level = not level
        host.world.hold_output(level)
        host.wait(gap_s)


def _slow_gap_s(host: Host) -> float:
    """Return a time between edges that the line carries with ease."""
    return max(0.010, 2.0 / host.trait(Trait.EDGE_RATE_LIMIT))


def _numbers(host: Host, first: int) -> list[int]:
    return [notice.number for notice in host.notices(Notice, first)]


def _out_changes(host: Host) -> list[Change]:
    return [c for c in host.world.changes() if c.source is Source.OUT]


@clause("11.1", "notices are numbered one by one; `look` tells the next", Need.MOVES)
def _numbered(host: Host) -> None:
    get_ready(host)
    host.wait(0.2)
    first, start = len(host.heard), host.look().next_notice
    field = get_to(host, 0.2)
    order(host, home_words(host))
    get_ready(host)
    go_to(host, field.at(0.3))
    host.wait(0.2)
    end = host.look().next_notice
    wanted = [(start + i) % _ROUND for i in range((end - start) % _ROUND)]
    host.expect(
        _numbers(host, first) == wanted and len(wanted) >= 4,
        f"notices {start} to {end - 1}",
        _numbers(host, first),
    )


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
        host.wait(_slow_gap_s(host))
    end = host.look()
    edges = edges_of(host, Source.OUT, first)
    host.expect(
        [edge.level for edge in edges] == [True, False, True, False],
        "edges to 1, 0, 1, 0",
        host.since(first),
    )
    host.expect(
        [edge.number for edge in edges]
        == [(start.next_notice + i) % _ROUND for i in range(4)],
        f"numbers from {start.next_notice} on",
        [edge.number for edge in edges],
    )
    for edge in edges:
        host.expect(edge.position == start.position, f"count {start.position}", edge)
        inside = (edge.time - start.time) % _CLOCK_ROUND
        host.expect(
            inside <= (end.time - start.time) % _CLOCK_ROUND,
            f"a time between {start.time} and {end.time}",
            edge,
        )


def _edges_on_the_way(host: Host) -> tuple[list[EdgeNotice], list[Change], int]:
    """Go up and down fast with the output changing; also pulses less count."""
    field = get_to(host, 0.0)
    host.world.hold_output(False)
    host.wait(0.1)
    offset = host.world.pulses() - host.look().position
    host.world.changes()
    first = len(host.heard)
    for target in (field.high, field.low):
        number = begin_motion(
            host, f"go {target} {field.fast} {field.acceleration} 0 0"
        )
        level = False
        gap_s = max(0.0171, 1.37 / host.trait(Trait.EDGE_RATE_LIMIT))
        for _ in under_way(host, number):
            level = not level
            host.world.hold_output(level)
            host.wait(gap_s)
        host.world.hold_output(False)
        host.wait(_DRAIN_S)
    return edges_of(host, Source.OUT, first), _out_changes(host), offset


@clause(
    "11.3",
    "the latched count is exact to one step, up and down",
    Need.MOVES,
    Need.WORLD,
)
def _count(host: Host) -> None:
    edges, changes, offset = _edges_on_the_way(host)
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
    edges, changes, _ = _edges_on_the_way(host)
    host.expect(
        len(edges) == len(changes) > 20,
        f"{len(changes)} edges",
        f"{len(edges)} notices",
    )
    # Each of a pair may be off by two ticks, and by the whole µs that times are told in
    room_us = 2 * 2 * host.trait(Trait.TIME_TICK) * 1e-3 + 1
    for edge, change in zip(edges[1:], changes[1:], strict=True):
        came = (edge.time - edges[0].time) % _CLOCK_ROUND
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


@clause(
    "11.6",
    "what the ring overwrites unsent is counted, and uses up its number",
    Need.WORLD,
)
def _lost(host: Host) -> None:
    host.world.hold_output(False)
    host.wait(_DRAIN_S)
    first, start, lost = len(host.heard), host.look(), host.tally().lost
    host.world.changes()
    _toggle(host, 200, 0.001)
    host.wait(_DRAIN_S)
    produced = (host.look().next_notice - start.next_notice) % _ROUND
    true = len(_out_changes(host))
    host.expect(produced == true == 200, f"{true} numbers used up", produced)
    came = len(set(_numbers(host, first)))
    counted = (host.tally().lost - lost) % _ROUND
    host.expect(
        came + counted == produced and counted > 0,
        f"{produced - came} counted as lost",
        counted,
    )
    told = [notice.lost for notice in host.notices(Notice, first)]
    host.expect(
        told == sorted(told) and (told[-1] - lost) % _ROUND == counted,
        f"`lost` that rises to {counted}",
        told[-3:],
    )


@clause(
    "11.7", "the last notices are kept, sent or not: as many as RING_SIZE", Need.WORLD
)
def _ring(host: Host) -> None:
    size = host.trait(Trait.RING_SIZE)
    _toggle(host, size + 5, _slow_gap_s(host))
    host.wait(_DRAIN_S)
    end = host.look().next_notice
    oldest = (end - size) % _ROUND
    for number in (oldest, (oldest + 1) % _ROUND, (end - 1) % _ROUND):
        host.gets(f"recall {number}", f"recall {oldest} {end}")
    outside = (oldest - 1, oldest - 2, end, end + 1, end + 1000, oldest - 32000)
    for number in outside:
        host.gets(f"recall {number % _ROUND}", "no 10 1")


def _recalled(host: Host, sent: Heard) -> None:
    """Recall a notice: it must follow the answer, as it was sent."""
    assert isinstance(sent.message, Notice)
    first, number = len(host.heard), host.number()
    host.say(f"recall {sent.message.number}", number)
    host.wait(0.3, lambda: bool(host.replies(number, first)))
    host.wait(0.05)
    texts = [heard.text for heard in host.heard[first:]]
    at = next((i for i, t in enumerate(texts) if t.startswith(f"a{number} ")), None)
    host.expect(
        at is not None and texts[at + 1 : at + 2] == [sent.text],
        f"`{sent.text}` right after the answer",
        host.since(first),
    )


@clause("11.8", "a recalled notice follows its answer, just as it was")
def _recall(host: Host) -> None:
    """Any notice will do; without a world there may be only that of the start."""
    number = (host.look().next_notice - 1) % _ROUND
    first = len(host.heard)
    host.gets(f"recall {number}", "recall")
    host.wait(0.1)
    sent = [h for h in host.heard[first:] if isinstance(h.message, Notice)]
    host.expect(
        len(sent) == 1 and sent[0].message.number == number,  # type: ignore[union-attr]
        f"notice {number} after the answer",
        host.since(first),
    )
    _recalled(host, sent[0])


@clause(
    "11.9",
    "recall gives count, time and `lost` as they were then",
    Need.MOVES,
    Need.WORLD,
)
def _recall_same(host: Host) -> None:
    get_to(host, 0.1)
    first = len(host.heard)
    _toggle(host, 4, _slow_gap_s(host))
    go_to(host, field_of(host).at(0.2))
    host.wait(0.1)
    for sent in [h for h in host.heard[first:] if isinstance(h.message, Notice)]:
        _recalled(host, sent)


@clause("11.10", "a recalled notice comes before others that wait", Need.WORLD)
def _recall_first(host: Host) -> None:
    first = len(host.heard)
    _toggle(host, 2, 0.1)
    sent = next(h for h in host.heard[first:] if isinstance(h.message, EdgeNotice))
    _toggle(host, 14, 0.0005)
    _recalled(host, sent)


@clause("11.11", "a reply goes before notices that wait", Need.WORLD)
def _reply_first(host: Host) -> None:
    host.wait(_DRAIN_S)
    _toggle(host, 15, 0.0004)
    first, number = len(host.heard), host.say("look")
    host.wait(0.3, lambda: bool(host.replies(number, first)))
    texts = [heard.text for heard in host.heard[first:]]
    before = next((i for i, t in enumerate(texts) if t.startswith("a")), len(texts))
    host.expect(before <= 4, "the reply before most of the notices", host.since(first))
    host.wait(_DRAIN_S)
    numbers = _numbers(host, 0)
    host.expect(numbers == sorted(numbers), "notices in their order", numbers)


@clause("11.12", "a reply comes in time whatever the notices do", Need.WORLD)
def _room_for_reply(host: Host) -> None:
    limit_s = ANSWER_S + host.wire_s(LONGEST_LINE_BYTES + 1) + host.subject.latency_s
    level = False
    for _ in range(20):
        first, number = len(host.heard), host.number()
        data = line(f"q{number} look")
        begun_s = host.subject.clock_s()
        host.send(data)
        for _ in range(40):
            level = not level
            host.world.hold_output(level)
            host.wait(0.001)
        replies = host.replies(number, first)
        host.expect(bool(replies), "a reply to each `look`", host.since(first))
        took_s = replies[0].at_s - begun_s
        took_s -= host.wire_s(len(data) + len(line(replies[0].text)))
        host.expect(
            took_s <= limit_s + 0.001,
            f"a reply within {limit_s:.4f} s",
            f"{took_s:.4f} s",
        )


@clause("11.13", "edges at EDGE_RATE_LIMIT go on without loss", Need.WORLD)
def _sustained(host: Host) -> None:
    host.wait(_DRAIN_S)
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
    host.wait(_DRAIN_S)
    counted = (host.tally().lost - lost) % _ROUND
    host.expect(counted == 0, "nothing lost", f"{counted} lost")
    wanted = [(start.next_notice + i) % _ROUND for i in range(rate * 2)]
    came = _numbers(host, first)
    host.expect(came == wanted, f"{len(wanted)} notices in order", f"{len(came)}")


@clause(
    "11.14", "edges that follow at once are noticed or lost, never merged", Need.WORLD
)
def _not_merged(host: Host) -> None:
    host.world.hold_output(False)
    host.wait(_DRAIN_S)
    first, start, lost = len(host.heard), host.look(), host.tally().lost
    for _ in range(5):
        for level in (True, False):
            host.world.hold_output(level)
            host.wait(0.00005)
        host.wait(0.05)
    host.wait(_DRAIN_S)
    produced = (host.look().next_notice - start.next_notice) % _ROUND
    edges = edges_of(host, Source.OUT, first)
    counted = (host.tally().lost - lost) % _ROUND
    host.expect(
        produced == 10 and len(edges) + counted == 10,
        "10 numbers, each noticed or lost",
        f"{produced} numbers, {len(edges)} notices, {counted} lost",
    )
    for one, two in zip(edges, edges[1:], strict=False):
        if two.number == one.number + 1:
            host.expect(one.level is not two.level, "levels in turn", f"{one}, {two}")


def _far_on(host: Host, notice: int) -> None:
    """Come to where the next notice has this number, and the ring is full of others."""
    size = host.trait(Trait.RING_SIZE)
    if host.world.begin_late(0, notice - size):
        host.greet()
        _toggle(host, size, _slow_gap_s(host))
        return
    if not host.world.patient:
        raise NotApplicable(Need.PATIENCE.value)
    level = False
    while (left := notice - host.look().next_notice) > 0:
        for _ in range(min(1000, left)):
            level = not level
            host.world.hold_output(level)
            host.world.pass_time(0.0002)
    host.wait(_DRAIN_S)


@clause(
    "11.15", "notice 65535 is followed by 0, for `look` and `recall` too", Need.WORLD
)
def _number_wraps(host: Host) -> None:
    _far_on(host, _ROUND - 12)
    start = host.look().next_notice
    host.expect(start > _ROUND - 30, f"notice {_ROUND - 12} next", start)
    size = host.trait(Trait.RING_SIZE)
    first, count = len(host.heard), size + 20
    _toggle(host, count, _slow_gap_s(host))
    host.wait(_DRAIN_S)
    wanted = [(start + i) % _ROUND for i in range(count)]
    came = _numbers(host, first)
    host.expect(came == wanted, f"{wanted[:3]} ... {wanted[-3:]}", f"{came[:16]} ...")
    next_notice = host.look().next_notice
    host.expect(next_notice == (start + count) % _ROUND, "a next number", next_notice)


@clause("11.16", "`recall` reaches across 65535", Need.WORLD)
def _recall_wraps(host: Host) -> None:
    _far_on(host, _ROUND - 12)
    start, first = host.look().next_notice, len(host.heard)
    _toggle(host, (_ROUND - start) + 4, _slow_gap_s(host))
    host.wait(_DRAIN_S)
    end = host.look().next_notice
    host.expect(end == 4, "notice 4 next", end)
    sent = [h for h in host.heard[first:] if isinstance(h.message, Notice)]
    for heard in sent[-8:]:
        _recalled(host, heard)
    host.gets("recall 4", "no 10 1")
    host.gets("recall 40000", "no 10 1")


@clause("11.17", "the clock wraps from 4294967295 to 0", Need.MOVES, Need.WORLD)
def _clock_wraps(host: Host) -> None:
    if not host.world.begin_late(_CLOCK_ROUND - 12_000_000, 1):
        if not host.world.patient:
            raise NotApplicable(Need.PATIENCE.value)
        left_s = (_CLOCK_ROUND - host.look().time) * 1e-6
        host.world.pass_time(left_s - 12.0)
    host.greet()
    field = get_to(host, 0.0)
    while host.look().time < _CLOCK_ROUND - 200_000 and host.look().time > 2**31:
        host.wait(0.05)
    host.world.hold_output(False)
    host.wait(0.02)
    host.world.changes()
    first, before, begun_s = len(host.heard), host.look(), host.subject.clock_s()
    number = begin_motion(host, f"go {field.high} {field.slow} 1 0 0")
    for level in (True, False) * 8:
        host.world.hold_output(level)
        host.wait(0.05)
        host.say("look", 0)
    rest = rest_of(host, number)
    after, took_s = host.look(), host.subject.clock_s() - begun_s
    came_s = ((after.time - before.time) % _CLOCK_ROUND) * 1e-6
    host.expect(
        before.time > 2**31 > after.time
        and abs(came_s - took_s) < 0.02 + 0.02 * took_s,
        f"a clock that is {took_s:.2f} s on, modulo 2^32",
        f"{before.time}, then {after.time}",
    )
    edges, changes = edges_of(host, Source.OUT, first), _out_changes(host)
    host.expect(len(edges) == len(changes), f"{len(changes)} edges", len(edges))
    for edge, change in zip(edges, changes, strict=True):
        came = (edge.time - edges[0].time) % _CLOCK_ROUND
        true = change.time_us - changes[0].time_us
        host.expect(abs(came - true) <= 5, f"{true:.0f} us after the first", f"{came}")
    host.expect(rest.position == field.high, f"rest at {field.high}", rest)
