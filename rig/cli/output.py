"""Standard output: results go there and nothing else."""

from __future__ import annotations

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
