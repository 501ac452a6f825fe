"""SPEC.md 11: numbers and clock when they wrap."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need, NotApplicable
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    edges_of,
    get_to,
    rest_of,
)
from firmware_protocol.conformance.watch import (
    CLOCK_ROUND,
    DRAIN_S,
    NUMBER_ROUND,
    numbers,
    out_changes,
    recalled,
    slow_gap_s,
    toggle,
)
from firmware_protocol.messages import (
    Notice,
    Source,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


def _far_on(host: Host, notice: int) -> None:
    """Come to where the next notice has this number, and the ring is full of others."""
    size = host.trait(Trait.RING_SIZE)
    if host.world.begin_late(0, notice - size):
        host.greet()
        toggle(host, size, slow_gap_s(host))
        return
    if not host.world.patient:
        raise NotApplicable(Need.PATIENCE.value)
    level = False
    while (left := notice - host.look().next_notice) > 0:
        for _ in range(min(1000, left)):
            level = not level
            host.world.hold_output(level)
            host.world.pass_time(0.0002)
    host.wait(DRAIN_S)


@clause(
    "11.15", "notice 65535 is followed by 0, for `look` and `recall` too", Need.WORLD
)
def _number_wraps(host: Host) -> None:
    _far_on(host, NUMBER_ROUND - 12)
    start = host.look().next_notice
    host.expect(start > NUMBER_ROUND - 30, f"notice {NUMBER_ROUND - 12} next", start)
    size = host.trait(Trait.RING_SIZE)
    first, count = len(host.heard), size + 20
    toggle(host, count, slow_gap_s(host))
    host.wait(DRAIN_S)
    wanted = [(start + i) % NUMBER_ROUND for i in range(count)]
    came = numbers(host, first)
    host.expect(came == wanted, f"{wanted[:3]} ... {wanted[-3:]}", f"{came[:16]} ...")
    next_notice = host.look().next_notice
    host.expect(
        next_notice == (start + count) % NUMBER_ROUND, "a next number", next_notice
    )


@clause("11.16", "`recall` reaches across 65535", Need.WORLD)
def _recall_wraps(host: Host) -> None:
    _far_on(host, NUMBER_ROUND - 12)
    start, first = host.look().next_notice, len(host.heard)
    toggle(host, (NUMBER_ROUND - start) + 4, slow_gap_s(host))
    host.wait(DRAIN_S)
    end = host.look().next_notice
    host.expect(end == 4, "notice 4 next", end)
    sent = [h for h in host.heard[first:] if isinstance(h.message, Notice)]
    for heard in sent[-8:]:
        recalled(host, heard)
    host.gets("recall 4", "no 10 1")
    host.gets("recall 40000", "no 10 1")


@clause("11.17", "the clock wraps from 4294967295 to 0", Need.MOVES, Need.WORLD)
def _clock_wraps(host: Host) -> None:
    if not host.world.begin_late(CLOCK_ROUND - 12_000_000, 1):
        if not host.world.patient:
            raise NotApplicable(Need.PATIENCE.value)
        left_s = (CLOCK_ROUND - host.look().time) * 1e-6
        host.world.pass_time(left_s - 12.0)
    host.greet()
    field = get_to(host, 0.0)
    while host.look().time < CLOCK_ROUND - 200_000 and host.look().time > 2**31:
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
    came_s = ((after.time - before.time) % CLOCK_ROUND) * 1e-6
    host.expect(
        before.time > 2**31 > after.time
        and abs(came_s - took_s) < 0.02 + 0.02 * took_s,
        f"a clock that is {took_s:.2f} s on, modulo 2^32",
        f"{before.time}, then {after.time}",
    )
    edges, changes = edges_of(host, Source.OUT, first), out_changes(host)
    host.expect(len(edges) == len(changes), f"{len(changes)} edges", len(edges))
    for edge, change in zip(edges, changes, strict=True):
        came = (edge.time - edges[0].time) % CLOCK_ROUND
        true = change.time_us - changes[0].time_us
        host.expect(abs(came - true) <= 5, f"{true:.0f} us after the first", f"{came}")
    host.expect(rest.position == field.high, f"rest at {field.high}", rest)
