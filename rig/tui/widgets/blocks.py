"""Words in block letters, as large as their room allows."""

from __future__ import annotations

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from rig.tui.pictures.block_letters import block_letters


class Blocks(Widget):
    """Shows a word or a figure that is read from the back of the room."""

    text: reactive[str] = reactive("")
    """What is shown; only what block letters there are for."""
    tone: reactive[str] = reactive("bold")
    """Style of the letters."""

    def render(self) -> RenderResult:
        """Return the letters, in the middle of their height."""
        size = self.size
        lines = block_letters(self.text, size.width, size.height)
        above = "\n" * ((size.height - len(lines)) // 2)
        return Content.assemble(above, ("\n".join(lines), self.tone))
