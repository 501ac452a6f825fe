"""What every list of the records is asked for: words, an order, a page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ListWanted:
    """Which rows of a list, in which order.

    Attributes:
        words: Words that each row must have, in small or capital letters.
        falling: Whether the largest, or the latest, comes first.
        first: How many rows are passed over.
        limit: How many are found at most; None for all.
    """

    words: tuple[str, ...] = ()
    falling: bool = True
    first: int = 0
    limit: int | None = None
