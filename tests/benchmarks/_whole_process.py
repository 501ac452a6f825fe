"""What a whole process takes: processor time, time, and its peak of memory."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

COMMAND = "import sys; from rig.cli.main import main; sys.argv[0] = 'gapsweep'; main()"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a process took.

    Attributes:
        wall_s: From its start to its end.
        processor_s: Of all its threads, start included.
        memory_mb: The most that it held of memory.
    """

    wall_s: float
    processor_s: float
    memory_mb: float


def taken(
    code: str,
    *arguments: str,
    folder: Path | None = None,
    surroundings: Mapping[str, str] | None = None,
) -> Taken:
    """Run Python code as a process of its own; what it prints goes nowhere.

    Raises:
        RuntimeError: It failed; a verdict that a part does not conform is no failure.
    """
    began_s = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", code, *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | dict(surroundings or {}),
        cwd=folder,
    )
    _, status, usage = os.wait4(process.pid, 0)
    wall_s = time.perf_counter() - began_s
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise RuntimeError(f"{arguments} ended with status {process.returncode}")
    return Taken(
        wall_s=wall_s,
        processor_s=usage.ru_utime + usage.ru_stime,
        memory_mb=usage.ru_maxrss / 1024.0,
    )
