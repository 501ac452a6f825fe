"""The findings of a bench check, each with its fitness as glyph and word."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.procedures.bench_finding import Finding
from rig.tui.state.status_words import FITNESS

EMPTY = (
    "No findings yet.\n\n"
    "The bench check looks at the link, the home switch, the datum, the backlash, "
    "lost steps, the axis scale, the sensor's output and the cable, and says of each "
    "whether it is fit for measuring."
)


class FindingList(VerticalScroll):
    """Shows findings; empty, it says what a check would look at."""

    BORDER_TITLE = "Findings"

    def compose(self) -> ComposeResult:
        """Begin empty."""
        yield Static(EMPTY, classes="empty")

    async def show(self, findings: tuple[Finding, ...]) -> None:
        """Show these findings instead of what is there."""
        await self.remove_children()
        if not findings:
            await self.mount(Static(EMPTY, classes="empty"))
            return
        await self.mount_all(_row(finding) for finding in findings)


def _row(finding: Finding) -> Horizontal:
    sign = FITNESS[finding.fitness]
    head = Content.assemble((str(sign), f"bold {sign.style}"))
    return Horizontal(
        Static(head, classes="fitness"),
        Static(Content(f"{finding.subject}: {finding.sentence}"), classes="sentence"),
        classes="finding",
    )
