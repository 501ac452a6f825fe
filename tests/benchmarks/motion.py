"""What the motion costs: bytes and processor, in terminals fast and slow, in a browser.

The app runs in a process of its own. Its terminal is a pseudo-terminal that is read as
fast as it writes, or no faster than a serial line carries; of a browser tab, the pipe
to the server, which is read at once.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from rig.tui.web.tab_process import DRIVER
from tests.benchmarks.registry import Claim, Report, Table, benchmark

_SETTLE_S = 6.0  # until the screen is there
_WATCH_S = 8.0
_PATIENCE_S = 60.0
_SLOW_BYTES_S = 11_520  # 115200 baud, 8N1
_CHUNK = 1 << 16
_TICKS_S = os.sysconf("SC_CLK_TCK")
MOST_SHARE = 0.5
MOST_LEAVING_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What was seen of one process.

    Attributes:
        bytes_s: Bytes a second that it wrote.
        processor: Share of one processor, user and system.
        leaving_s: Time from the key that leaves it until it had ended.
    """

    bytes_s: float
    processor: float
    leaving_s: float


@contextmanager
def _running(
    mode: str, size: tuple[int, int], *, web: bool
) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """Yield the process and where to read what it writes."""
    with tempfile.TemporaryDirectory() as folder:
        words = [sys.executable, "-m", "tests.benchmarks._moving_app", folder, mode]
        columns, rows = size
        environment = {
            **{k: v for k, v in os.environ.items() if not k.startswith("TEXTUAL")},
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "COLUMNS": str(columns),
            "ROWS": str(rows),
        }
        if web:
            environment |= {"TEXTUAL_DRIVER": DRIVER}
            process = subprocess.Popen(
                words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment
            )
            assert process.stdout is not None
            reads = process.stdout.fileno()
        else:
            reads, slave = pty.openpty()
            shape = struct.pack("HHHH", rows, columns, 0, 0)
            fcntl.ioctl(slave, termios.TIOCSWINSZ, shape)
            environment.pop("COLUMNS")
            process = subprocess.Popen(
                words, stdin=slave, stdout=slave, stderr=slave, env=environment
            )
            os.close(slave)
        try:
            yield process, reads
        finally:
            process.kill()
            process.wait()


def _read_for(reads: int, seconds: float, most_bytes_s: float | None) -> int:
    """Read for a while, no faster than so many bytes a second; return how many."""
    begun_s, count = time.monotonic(), 0
    while (passed_s := time.monotonic() - begun_s) < seconds:
        if most_bytes_s is not None and count > passed_s * most_bytes_s:
            time.sleep(0.005)
            continue
        if not select.select([reads], [], [], 0.05)[0]:
            continue
        chunk = _CHUNK if most_bytes_s is None else 512
        try:
            found = len(os.read(reads, chunk))
        except OSError:
            return count
        if not found:
            return count
        count += found
    return count


def _busy_s(process: subprocess.Popen[bytes]) -> float:
    with open(f"/proc/{process.pid}/stat", encoding="ascii") as file:
        fields = file.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / _TICKS_S


def _cost(
    mode: str,
    size: tuple[int, int],
    *,
    most_bytes_s: float | None = None,
    web: bool = False,
) -> Cost:
    with _running(mode, size, web=web) as (process, reads):
        _read_for(reads, _SETTLE_S, most_bytes_s)
        if process.poll() is not None:
            raise RuntimeError(f"the app ended early, with {process.returncode}")
        busy_s, begun_s = _busy_s(process), time.monotonic()
        count = _read_for(reads, _WATCH_S, most_bytes_s)
        passed_s = time.monotonic() - begun_s
        share = (_busy_s(process) - busy_s) / passed_s
        asked_s = time.monotonic()
        process.send_signal(signal.SIGTERM)
        while process.poll() is None and time.monotonic() - asked_s < _PATIENCE_S:
            _read_for(reads, 0.05, most_bytes_s)
        return Cost(
            bytes_s=count / passed_s,
            processor=share,
            leaving_s=time.monotonic() - asked_s,
        )


@benchmark("motion", "What a motion on the screen costs, on terminals fast and slow")
def measure() -> Report:
    """Watch it in three sizes, on a slow line, in a browser tab, and at rest."""
    wide = (120, 40)
    found = {
        "terminal, 80x24": _cost("moves", (80, 24)),
        "terminal, 120x40": _cost("moves", wide),
        "terminal, 200x60": _cost("moves", (200, 60)),
        "line of 11.5 kB/s, 120x40": _cost("moves", wide, most_bytes_s=_SLOW_BYTES_S),
        "browser tab, 120x40": _cost("moves", wide, web=True),
        "at rest, 120x40": _cost("rest", wide),
    }
    rows = [
        (what, one.bytes_s / 1000, 100 * one.processor, one.leaving_s)
        for what, one in found.items()
    ]
    share = max(one.processor for one in found.values())
    slow = found["line of 11.5 kB/s, 120x40"]
    return Report(
        tables=(
            Table(
                title="while a target moves at the pace of a real one",
                columns=("where", "kB/s", "processor %", "s to leave"),
                rows=rows,
            ),
        ),
        claims=(
            Claim(
                claim=f"it takes less than {100 * MOST_SHARE:.0f} % of a processor",
                measured=f"{100 * share:.0f} %",
                met=share < MOST_SHARE,
            ),
            Claim(
                claim=f"on a slow line it leaves within {MOST_LEAVING_S:g} s when told",
                measured=f"{slow.leaving_s:.1f} s",
                met=slow.leaving_s < MOST_LEAVING_S,
            ),
        ),
        notes=(
            "The machine's other load is in the processor time of nobody else, but "
            "makes frames late.",
        ),
    )
