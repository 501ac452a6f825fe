"""What a trace of a wire says: its events in words, and how the wire did."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from firmware_protocol import Receiver, StopMark
from rig.link.trace import Mark, Trace

_MICRO = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class WireEvent:
    r"""Bytes that went one way at once.

    Attributes:
        time_s: Time since the trace began.
        way: "to the rig", "from the rig" or "rate".
        text: The bytes; what is not printable stands as \\x and two hex digits.
        damaged: Lines of the protocol among them that are damaged.
    """

    time_s: float
    way: str
    text: str
    damaged: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLog:
    """A trace, ready to be shown.

    Attributes:
        head: What it says of versions, port and time, a line each.
        duration_s: Time from its begin to its last event.
        lines_to_rig: Sound lines to the rig.
        lines_from_rig: Sound lines from the rig.
        damaged_to_rig: Damaged lines to the rig, as it left here.
        damaged_from_rig: Damaged lines from the rig.
        stops: Stop bytes sent.
        longest_silence_s: Longest time without a byte from the rig.
        words: How often each word of the protocol went over the wire.
        events: What went over it, in order.
    """

    head: tuple[str, ...]
    duration_s: float
    lines_to_rig: int
    lines_from_rig: int
    damaged_to_rig: int
    damaged_from_rig: int
    stops: int
    longest_silence_s: float
    words: dict[str, int]
    events: tuple[WireEvent, ...]


_WAYS = {
    Mark.TO_RIG: "to the rig",
    Mark.FROM_RIG: "from the rig",
    Mark.RATE: "rate",
}


def wire_log(trace: Trace) -> WireLog:
    """Return what a trace says."""
    receivers = {Mark.TO_RIG: Receiver(), Mark.FROM_RIG: Receiver()}
    sound: Counter[Mark] = Counter()
    words: Counter[str] = Counter()
    events: list[WireEvent] = []
    stops = heard_us = silence_us = 0
    for event in trace.events:
        if not event.data:
            continue
        damaged = 0
        if (receiver := receivers.get(event.mark)) is not None:
            before = receiver.dropped
            for item in receiver.feed(event.data):
                if isinstance(item, StopMark):
                    stops += event.mark is Mark.TO_RIG
                    continue
                sound[event.mark] += 1
                words[getattr(item, "WORD", "unknown")] += 1
            damaged = receiver.dropped - before
        if event.mark is Mark.FROM_RIG:
            silence_us = max(silence_us, event.time_us - heard_us)
            heard_us = event.time_us
        events.append(
            WireEvent(
                time_s=event.time_us * _MICRO,
                way=_WAYS[event.mark],
                text=_printable(event.data),
                damaged=damaged,
            )
        )
    end_us = trace.events[-1].time_us if trace.events else 0
    return WireLog(
        head=trace.head,
        duration_s=end_us * _MICRO,
        lines_to_rig=sound[Mark.TO_RIG],
        lines_from_rig=sound[Mark.FROM_RIG],
        damaged_to_rig=receivers[Mark.TO_RIG].dropped,
        damaged_from_rig=receivers[Mark.FROM_RIG].dropped,
        stops=stops,
        longest_silence_s=max(silence_us, end_us - heard_us) * _MICRO,
        words=dict(sorted(words.items())),
        events=tuple(events),
    )


def _printable(data: bytes) -> str:
    shown = data.decode("latin-1")
    return "".join(
        sign if " " <= sign <= "~" else f"\\x{ord(sign):02x}" for sign in shown
    ).replace("\\x0a", "\\n")
