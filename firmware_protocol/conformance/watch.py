"""What clauses do with notices: make edges, collect numbers, recall."""

from __future__ import annotations

from firmware_protocol.conformance.host import Heard, Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    edges_of,
    get_to,
    under_way,
)
from firmware_protocol.conformance.subject import Change
from firmware_protocol.messages import EdgeNotice, Notice, Source, Trait

NUMBER_ROUND = 65536
CLOCK_ROUND = 2**32  # us
DRAIN_S = 0.6  # by then a full ring has been sent


def numbers(host: Host, first: int) -> list[int]:
    """Return the numbers of the notices since an index, as they came."""
    return [notice.number for notice in host.notices(Notice, first)]


def out_changes(host: Host) -> list[Change]:
    """Return the true changes of the output since the last call."""
    return [c for c in host.world.changes() if c.source is Source.OUT]


def recalled(host: Host, sent: Heard) -> None:
    """Recall a notice: it must follow the answer, as it was sent."""
    assert isinstance(sent.message, Notice)
    first, number = len(host.heard), host.number()
    host.say(f"recall {sent.message.number}", number)
    host.answered(number, first, 0.3)
    host.wait(0.05)
    texts = [heard.text for heard in host.heard[first:]]
    at = next((i for i, t in enumerate(texts) if t.startswith(f"a{number} ")), None)
    host.expect(
        at is not None and texts[at + 1 : at + 2] == [sent.text],
        f"`{sent.text}` right after the answer",
        host.since(first),
    )


def slow_gap_s(host: Host) -> float:
    """Return a time between edges that the line carries with ease."""
    return max(0.010, 2.0 / host.trait(Trait.EDGE_RATE_LIMIT))


def toggle(host: Host, count: int, gap_s: float) -> None:
    """Change the output so many times, so far apart."""
    level = bool(host.look().inputs & 1)
    for _ in range(count):
        level = not level
        host.world.hold_output(level)
        host.wait(gap_s)


def edges_on_the_way(host: Host) -> tuple[list[EdgeNotice], list[Change], int]:
    """Go up and down fast with the output changing.

    Returns:
        The edges noticed, the true changes, and what pulses have over the count.
    """
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
        host.wait(DRAIN_S)
    return edges_of(host, Source.OUT, first), out_changes(host), offset
