"""A trace of a wire as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rig.inquiry.wire_log import WireLog

_ARROWS = {"to the rig": ">", "from the rig": "<", "rate": "="}


def wire_lines(log: WireLog) -> Iterator[str]:
    """Yield what went over the wire, an event a line, and how the wire did."""
    yield from log.head[1:]
    yield ""
    for event in log.events:
        damaged = f"  {event.damaged} damaged" if event.damaged else ""
        yield f"{event.time_s:12.6f} s {_ARROWS[event.way]} {event.text}{damaged}"
    yield ""
    yield (
        f"{log.duration_s:.3f} s; {log.lines_to_rig} lines to the rig and"
        f" {log.lines_from_rig} from it; damaged {log.damaged_to_rig} and"
        f" {log.damaged_from_rig}; {log.stops} stop bytes;"
        f" nothing from the rig for {log.longest_silence_s:.3f} s at most"
    )
