"""Reports as one HTML document that asks for nothing from outside and runs nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rig.inquiry.chain_anchor import Anchor
from rig.model.plain_text import shown
from rig.report.qr_code import qr_code
from rig.sheets.bench_words import utc
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What every report says besides its own matter.

    Attributes:
        title: Title of the document.
        generated_at: When, UTC.
        noun: What it is made of: run, part, reading.
        total: How many of these.
        simulated: How many of them a simulated rig made.
        identity: Identity on record of what it is of, which its QR code carries; empty
            for a report of several things, and then there is no code.
    """

    title: str
    generated_at: datetime
    noun: str
    total: int
    simulated: int
    identity: str = ""


def render(template: str, page: Page, **matter: Any) -> str:
    """Write a document.

    Args:
        template: Name of its template.
        page: What every report says.
        matter: What this one says besides.
    """
    several = "" if page.total == 1 else "s"
    return (
        _environment()
        .get_template(template)
        .render(
            title=page.title,
            generated_at=utc(page.generated_at),
            software_version=SOFTWARE_VERSION,
            contents=f"{page.total} {page.noun}{several}",
            mark=_mark(page),
            mark_in_part=page.simulated < page.total,
            identity=page.identity,
            code=qr_code(page.identity) if page.identity else "",
            **matter,
        )
    )


def with_chain_head(html: str, head: Anchor | None) -> str:
    """Return a report that says which head the chain of the records had.

    On paper, or in another's hands, it shows later whether what was on record then is
    as it was.

    Args:
        html: The report.
        head: The head; None for nothing to say.
    """
    before, made, after = html.partition('<p class="made">')
    if head is None or not made:
        return html
    words, end, rest = after.partition("</p>")
    said = f" Head of the chain of the records: {head.typed}."
    return f"{before}{made}{words}{said}{end}{rest}"


def _mark(page: Page) -> str:
    """Say what a simulated rig made; empty if nothing."""
    if not page.simulated:
        return ""
    if page.simulated < page.total:
        return (
            f"A simulated rig made {page.simulated} of {page.total} {page.noun}s, each"
            " of them marked: behind these no sensor was measured."
        )
    made = (
        f"this {page.noun}" if page.total == 1 else f"all {page.noun}s of this report"
    )
    return f"No sensor was measured: a simulated rig made {made}."


def _shown(value: object) -> object:
    """Return what a page shows of a value: marks of direction turn nothing."""
    return shown(value) if type(value) is str else value


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("rig.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
