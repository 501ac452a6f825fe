"""Standard output for results and nothing else; standard error for all other words.

Whatever a command writes goes through here, and nothing in it is obeyed by a terminal.
"""

from __future__ import annotations

import json
from contextlib import suppress
from contextvars import ContextVar
from typing import Any, Final

import click

from rig.errors import InputError
from rig.model.plain_text import escaped_json, shown

QUIET: Final = "gapsweep.quiet"
"""Where the context of a command keeps that --quiet was given."""
_SAID: ContextVar[bool] = ContextVar("said", default=False)


def say(text: str) -> None:
    """Write to standard output.

    Raises:
        InputError: It goes to a file or a disk that does not take it.
        BrokenPipeError: Whoever read it has gone.
    """
    _SAID.set(True)
    try:
        click.echo(shown(text))
    except BrokenPipeError:
        raise
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(
            f"standard output cannot be written: {reason}",
            hint="send it somewhere else; what was measured is on record",
        ) from exc


def said() -> bool:
    """Return whether the command wrote to standard output already."""
    return _SAID.get()


def forget_said() -> None:
    """Begin anew with standard output, for the next command."""
    _SAID.set(False)


def say_aside(text: str) -> None:
    """Write to standard error what --quiet leaves out."""
    if not is_quiet():
        say_on_stderr(text)


def is_quiet() -> bool:
    """Return whether the command was given --quiet."""
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.meta.get(QUIET))


def say_on_stderr(text: str) -> None:
    """Write to standard error; a terminal that is gone is passed over."""
    with suppress(OSError):
        click.echo(shown(text), err=True)


def say_document(name: str, result: Any) -> None:
    """Write the frozen result of an inquiry as its JSON document.

    Args:
        name: Name of the document, see `rig.inquiry.documents`.
        result: Result of the type behind it.

    Raises:
        InputError: Standard output goes to a file or a disk that does not take it.
    """
    # Deferred: help must answer at once
    from rig.inquiry.documents import document

    text = json.dumps(
        document(name, result), indent=2, allow_nan=False, ensure_ascii=False
    )
    say(escaped_json(text))
