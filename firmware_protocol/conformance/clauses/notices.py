"""SPEC.md 11: notices, the ring, recall."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import ANSWER_S, Host, line
from firmware_protocol.conformance.motion import (
    begin_motion,
    field_of,
    get_ready,
    get_to,
    go_to,
    home_words,
    order,
    slow_words,
)
from firmware_protocol.conformance.watch import (
    DRAIN_S,
    NUMBER_ROUND,
    numbers,
    out_changes,
    recalled,
    slow_gap_s,
    toggle,
)
from firmware_protocol.messages import (
    LONGEST_LINE_BYTES,
    EdgeNotice,
    Fault,
    FaultNotice,
    Notice,
    RestCause,
    RestNotice,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


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
    wanted = [(start + i) % NUMBER_ROUND for i in range((end - start) % NUMBER_ROUND)]
    host.expect(
        numbers(host, first) == wanted and len(wanted) >= 4,
        f"notices {start} to {end - 1}",
        numbers(host, first),
    )


@clause(
    "11.6",
    "what the ring overwrites unsent is counted, and uses up its number",
    Need.WORLD,
)
def _lost(host: Host) -> None:
    host.world.hold_output(False)
    host.wait(DRAIN_S)
    first, start, lost = len(host.heard), host.look(), host.tally().lost
    host.world.changes()
    toggle(host, 200, 0.001)
    host.wait(DRAIN_S)
    produced = (host.look().next_notice - start.next_notice) % NUMBER_ROUND
    true = len(out_changes(host))
    host.expect(produced == true == 200, f"{true} numbers used up", produced)
    came = len(set(numbers(host, first)))
    counted = (host.tally().lost - lost) % NUMBER_ROUND
    host.expect(
        came + counted == produced and counted > 0,
        f"{produced - came} counted as lost",
        counted,
    )
    told = [notice.lost for notice in host.notices(Notice, first)]
    host.expect(
        told == sorted(told) and (told[-1] - lost) % NUMBER_ROUND == counted,
        f"`lost` that rises to {counted}",
        told[-3:],
    )


def _storm(host: Host, count: int) -> None:
    """Change the output so often, much faster than the line carries notices."""
    toggle(host, count, 0.0005)


@clause(
    "11.18",
    "a storm of edges takes the last `rest` from nobody",
    Need.MOVES,
    Need.WORLD,
)
def _rest_in_a_storm(host: Host) -> None:
    field, size = get_to(host, 0.0), host.trait(Trait.RING_SIZE)
    number = begin_motion(host, slow_words(field, field.high))
    first = len(host.heard)
    _storm(host, 2 * size)
    host.send(b"#")
    host.wait(0.002)
    _storm(host, 4 * size)
    host.wait(DRAIN_S)
    rests = [n for n in host.notices(RestNotice, first) if n.request == number]
    host.expect(
        [rest.cause for rest in rests] == [RestCause.STOPPED],
        "one `rest` with cause `stopped`",
        host.since(-4),
    )
    came = numbers(host, first)
    host.expect(came == sorted(came), "notices in their order", came)
    host.gets(f"recall {rests[0].number}", "recall")
    host.wait(0.05)
    again = host.notices(RestNotice, first)
    host.expect(again == rests * 2, f"{rests[0]} again", again)


@clause(
    "11.19",
    "a storm of edges takes the last `fault` from nobody",
    Need.MOVES,
    Need.WORLD,
    Need.SUPPLY_SENSE,
)
def _fault_in_a_storm(host: Host) -> None:
    field, size = get_to(host, 0.0), host.trait(Trait.RING_SIZE)
    begin_motion(host, slow_words(field, field.high))
    first = len(host.heard)
    _storm(host, 2 * size)
    host.world.set_supply(False)
    _storm(host, 6 * size)
    host.wait(DRAIN_S)
    faults = host.notices(FaultNotice, first)
    host.expect(
        [fault.fault for fault in faults] == [Fault.SUPPLY_LOST],
        "one `fault` 6",
        host.since(-4),
    )


@clause(
    "11.7", "the last notices are kept, sent or not: as many as RING_SIZE", Need.WORLD
)
def _ring(host: Host) -> None:
    size = host.trait(Trait.RING_SIZE)
    toggle(host, size + 5, slow_gap_s(host))
    host.wait(DRAIN_S)
    end = host.look().next_notice
    oldest = (end - size) % NUMBER_ROUND
    for number in (oldest, (oldest + 1) % NUMBER_ROUND, (end - 1) % NUMBER_ROUND):
        host.gets(f"recall {number}", f"recall {oldest} {end}")
    outside = (oldest - 1, oldest - 2, end, end + 1, end + 1000, oldest - 32000)
    for number in outside:
        host.gets(f"recall {number % NUMBER_ROUND}", "no 10 1")


@clause("11.8", "a recalled notice follows its answer, just as it was")
def _recall(host: Host) -> None:
    """Any notice will do; without a world there may be only that of the start."""
    number = (host.look().next_notice - 1) % NUMBER_ROUND
    first = len(host.heard)
    host.gets(f"recall {number}", "recall")
    host.wait(0.1)
    sent = [h for h in host.heard[first:] if isinstance(h.message, Notice)]
    host.expect(
        [n.number for n in host.notices(Notice, first)] == [number],
        f"notice {number} after the answer",
        host.since(first),
    )
    recalled(host, sent[0])


@clause(
    "11.9",
    "recall gives count, time and `lost` as they were then",
    Need.MOVES,
    Need.WORLD,
)
def _recall_same(host: Host) -> None:
    get_to(host, 0.1)
    first = len(host.heard)
    toggle(host, 4, slow_gap_s(host))
    go_to(host, field_of(host).at(0.2))
    host.wait(0.1)
    for sent in [h for h in host.heard[first:] if isinstance(h.message, Notice)]:
        recalled(host, sent)


@clause("11.10", "a recalled notice comes before others that wait", Need.WORLD)
def _recall_first(host: Host) -> None:
    first = len(host.heard)
    toggle(host, 2, 0.1)
    sent = next(h for h in host.heard[first:] if isinstance(h.message, EdgeNotice))
    toggle(host, 14, 0.0005)
    recalled(host, sent)


@clause("11.11", "a reply goes before notices that wait", Need.WORLD)
def _reply_first(host: Host) -> None:
    # On a real clock the host may ask too late, when no notice waits any more; a
    # controller that lets notices go first fails however often it is asked
    for _ in range(1 if host.world.patient else 4):
        first, before = _ask_amid_notices(host)
        if before <= 4:
            break
    host.expect(before <= 4, "the reply before most of the notices", host.since(first))
    host.wait(DRAIN_S)
    came = numbers(host, 0)
    host.expect(came == sorted(came), "notices in their order", came)


def _ask_amid_notices(host: Host) -> tuple[int, int]:
    """Return what was heard first, and how many lines came before the reply."""
    host.wait(DRAIN_S)
    toggle(host, 15, 0.0004)
    first, number = len(host.heard), host.say("look")
    host.answered(number, first, 0.3)
    texts = [heard.text for heard in host.heard[first:]]
    before = next((i for i, t in enumerate(texts) if t.startswith("a")), len(texts))
    return first, before


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
