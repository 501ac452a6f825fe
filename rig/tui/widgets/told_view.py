"""What every view of a picture has: the same in words, in the same place."""

from __future__ import annotations

from textual.reactive import reactive
from textual.widget import Widget


class ToldView(Widget):
    """Shows a picture, or tells it."""

    in_words: reactive[bool] = reactive(False)
    """Whether it is told in words instead."""
