"""Files that people give: of a bounded size, from files or standard input alone."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

from rig.errors import InputError

MOST_TOML_BYTES = 1_000_000
MOST_TABLE_BYTES = 100_000_000  # an export of figures has their budgets too
STANDARD_INPUT = Path("-")
_KINDS = (
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)


def read_text(path: Path, *, most_bytes: int = MOST_TOML_BYTES) -> str:
    """Return the text of a file; a byte order mark before it is passed over.

    Args:
        path: Path of the file.
        most_bytes: Largest size that is read.

    Raises:
        InputError: It is not there, no file, not readable, too large or not UTF-8.
    """
    data = read_bytes(path, most_bytes=most_bytes)
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as exc:
        line = exc.object[: exc.start].count(b"\n") + 1
        raise InputError(
            f"{path}, line {line}: byte 0x{exc.object[exc.start]:02x} is not UTF-8",
            hint="save the file as UTF-8 text",
        ) from exc


def read_bytes(path: Path, *, most_bytes: int) -> bytes:
    """Return what is in a file.

    Args:
        path: Path of the file; `-` for standard input.
        most_bytes: Largest size that is read.

    Raises:
        InputError: It is not there, no file, not readable or too large.
    """
    try:
        if path == STANDARD_INPUT:
            return _bounded(path, sys.stdin.buffer.read(most_bytes + 1), most_bytes)
        # Without waiting: whoever opens a pipe waits for its writer
        number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
        with os.fdopen(number, "rb") as file:
            _check_kind(path, os.fstat(number).st_mode)
            # What it says of its size is not what counts: it may grow
            data = file.read(most_bytes + 1)
    except FileNotFoundError as exc:
        raise InputError(f"there is no file {path}") from exc
    except IsADirectoryError as exc:
        raise InputError(f"{path} is a folder, and a file is needed") from exc
    except (OSError, ValueError) as exc:  # the latter of a path with a NUL
        reason = (getattr(exc, "strerror", "") or str(exc)).lower()
        raise InputError(f"{path} cannot be read: {reason}") from exc
    return _bounded(path, data, most_bytes)


def _bounded(path: Path, data: bytes, most_bytes: int) -> bytes:
    if len(data) > most_bytes:
        raise InputError(
            f"{path} has more than {most_bytes / 1e6:g} MB, too much for such a file",
            hint="is it the right one? Otherwise split it",
        )
    return data


def _check_kind(path: Path, mode: int) -> None:
    if stat.S_ISDIR(mode):
        raise InputError(f"{path} is a folder, and a file is needed")
    for is_kind, word in _KINDS:
        if is_kind(mode):
            raise InputError(
                f"{path} is {word}, and a file is needed",
                hint="save what comes from there as a file",
            )
