"""`gapsweep schema`: the JSON Schema of a document."""

from __future__ import annotations

import json

import click

from rig.cli.options import example
from rig.cli.output import say


@click.command(epilog=example("gapsweep schema run"))
@click.argument("name", metavar="[NAME]", default="")
def command(name: str) -> None:
    """Print the JSON Schema of a document that --json prints.

    Without a NAME, list the documents.
    """
    # Deferred: help must answer at once
    from rig.inquiry.documents import DOCUMENTS, json_schema

    if not name:
        say("\n".join(DOCUMENTS))
        return
    say(json.dumps(json_schema(name), indent=2, ensure_ascii=False))
