r"""The trace of a wire: a text file of what went over it and when.

A line of it is a time in µs since the trace began, a mark and what the mark says:

    > bytes to the rig      < bytes from the rig, none if a wait ended without any
    = a new rate, bits/s    . the time, as the host read it

Bytes outside printable ASCII, and the backslash, stand as \x and two hex digits. Lines
before them begin with # and say which versions were at work. The trace has nothing but
the wire in it: no file names, no records, no token.
"""

from __future__ import annotations

import platform
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from firmware_protocol.messages import MAJOR
from rig.errors import InputError
from rig.version import SOFTWARE_VERSION

FIRST_LINE = "# Gapsweep trace 1"
MOST_BYTES = 500_000_000  # a night of sweeps
_EVENT = re.compile(r"(\d{1,15}) ([><=.])(?: (.*))?")
_ESCAPED = re.compile(r"\\x([0-9a-f]{2})")
_TEXT = re.compile(r"(?:[\x20-\x5b\x5d-\x7e]|\\x[0-9a-f]{2})*")


class Mark(StrEnum):
    """What an event of a trace is."""

    TO_RIG = ">"
    FROM_RIG = "<"
    RATE = "="
    TIME = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceEvent:
    """One event of a trace.

    Attributes:
        time_us: Time since the trace began, by the link's clock.
        mark: What it is.
        data: The bytes, or the rate in digits.
    """

    time_us: int
    mark: Mark
    data: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A whole trace.

    Attributes:
        head: What stands before the events, without the marks of remarks.
        events: The events in order.
    """

    head: tuple[str, ...]
    events: tuple[TraceEvent, ...]


def trace_head(port: str, *, has_rate: bool, now: datetime) -> str:
    """Return the lines that a trace begins with.

    Args:
        port: The port as the user calls it.
        has_rate: Whether the port has a rate that can be changed.
        now: The time, UTC.
    """
    lines = (
        FIRST_LINE,
        f"# begun {now.isoformat(timespec='seconds')}",
        f"# software {SOFTWARE_VERSION}, protocol {MAJOR},"
        f" Python {platform.python_version()}, {platform.system()}",
        f"# port {port}",
        f"# rate {'yes' if has_rate else 'no'}",
    )
    return "".join(f"{line}\n" for line in lines)


def trace_line(event: TraceEvent) -> str:
    """Return the line of an event, newline included."""
    text = "".join(_escaped(byte) for byte in event.data)
    return f"{event.time_us} {event.mark}{' ' if text else ''}{text}\n"


def _escaped(byte: int) -> str:
    plain = 0x20 <= byte <= 0x7E and byte != 0x5C
    return chr(byte) if plain else f"\\x{byte:02x}"


def read_trace(text: str, where: str) -> Trace:
    """Return the trace that a text is; a last line that was cut off is left out.

    Args:
        text: What is in the file.
        where: Name of the file, for complaints.

    Raises:
        InputError: It is no trace, or a line of it is none.
    """
    whole, _, _ = text.rpartition("\n")
    lines = whole.split("\n")
    if lines[0] != FIRST_LINE:
        raise InputError(
            f"{where} is no trace of a wire",
            hint=f"a trace is made by --trace and begins with {FIRST_LINE!r}",
        )
    head = [line for line in lines if line.startswith("#")]
    return Trace(
        head=tuple(line.removeprefix("# ") for line in head),
        events=tuple(_events(lines, where)),
    )


def _events(lines: list[str], where: str) -> Iterator[TraceEvent]:
    before_us = 0
    for number, line in enumerate(lines, start=1):
        if line.startswith("#"):
            continue
        match = _EVENT.fullmatch(line)
        text = "" if match is None else match[3] or ""
        if match is None or _TEXT.fullmatch(text) is None or int(match[1]) < before_us:
            raise InputError(
                f"{where}, line {number}: it is no event of a trace",
                hint="a line is a time in µs that never goes back, one of > < = . and"
                " what it says",
            )
        before_us = int(match[1])
        data = _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)
        yield TraceEvent(
            time_us=before_us, mark=Mark(match[2]), data=data.encode("latin-1")
        )
