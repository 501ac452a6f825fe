"""Standard output: results go there and nothing else."""

from __future__ import annotations

import json
from typing import Any

import click

from rig.errors import InputError


def say(text: str) -> None:
    """Write to standard output.

    Raises:
        InputError: It goes to a file or a disk that does not take it.
        BrokenPipeError: Whoever read it has gone.
    """
    try:
        click.echo(text)
    except BrokenPipeError:
        raise
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(
            f"standard output cannot be written: {reason}",
            hint="send it somewhere else; what was measured is on record",
        ) from exc


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
    say(text)
