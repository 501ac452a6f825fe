"""`gapsweep log`: what a trace of a wire says."""

from __future__ import annotations

from pathlib import Path

import click

from rig.cli.options import example, json_option
from rig.cli.output import say, say_document


@click.command(epilog=example("gapsweep log wire.trace"))
@click.argument("path", metavar="TRACE", type=click.Path(path_type=Path))
@json_option
def command(path: Path, as_json: bool) -> None:
    """Show what went over the wire to a rig, and when.

    Commands with --rig write such a trace with --trace FILE: times, bytes and versions,
    nothing else. To reproduce a fault, give the same command with --rig trace://FILE
    and records as they were then: what came from the rig comes again, byte for byte,
    and nothing moves.
    """
    # Deferred: help must answer at once
    from rig.catalogue.input_file import read_text
    from rig.cli.text.wire_text import wire_lines
    from rig.inquiry.wire_log import wire_log
    from rig.link.trace import MOST_BYTES, read_trace

    text = read_text(path, most_bytes=MOST_BYTES)
    found = wire_log(read_trace(text, str(path)))
    if as_json:
        say_document("log", found)
    else:
        say("\n".join(wire_lines(found)))
