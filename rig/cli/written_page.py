"""Pages and sheets that a command writes: to a file, or to standard output for `-`."""

from __future__ import annotations

from pathlib import Path

from rig.cli.output import say
from rig.errors import InputError
from rig.model.new_file import refuse_existing
from rig.report.files import free_path, write_new

_STANDARD_OUTPUT = Path("-")
_OF_PAGES = (".html", ".htm", "")


def check_page(out: Path | None) -> None:
    """Refuse a name that no page can have, before any work is done for it.

    Raises:
        InputError: Its ending is that of another kind of file, or it exists already.
    """
    if out is None or out == _STANDARD_OUTPUT:
        return
    if out.suffix.lower() not in _OF_PAGES:
        raise InputError(
            f"{out} cannot be written: a report is an HTML page, not {out.suffix}",
            hint="name it .html; for a PDF, open it in a browser and print it to one",
        )
    refuse_existing(out)


def write_page(out: Path | None, text: str, *, name: str) -> Path | None:
    """Write a page, and return where it is; None for standard output.

    Args:
        out: Where to; None for a file of that name in the current folder.
        text: The whole page.
        name: Name that says what it is, without an ending.

    Raises:
        InputError: It exists already, or cannot be written there.
    """
    if out == _STANDARD_OUTPUT:
        say(text)
        return None
    path = free_path(Path(), name, ".html") if out is None else out
    write_new(path, text)
    return path
