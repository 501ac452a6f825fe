"""The trail as a list: who changed what on record, when, and why."""

from __future__ import annotations

from dataclasses import dataclass

from rig.errors import InputError
from rig.records import Store
from rig.records.trail_book import TrailBook, TrailEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailList:
    """Entries of the trail.

    Attributes:
        entries: Entries in order.
    """

    entries: tuple[TrailEntry, ...]


def trail_list(store: Store, subject: str = "") -> TrailList:
    """Return the trail, or what it holds of one subject.

    Args:
        store: Open records.
        subject: Identity of a lot, a run, a rig or an operator, or a product; empty for
            all.

    Raises:
        InputError: The trail holds nothing of the subject.
        RecordsError: The records cannot be read.
    """
    entries = TrailBook(store).entries(subject=subject)
    if subject and not entries:
        raise InputError(
            f"the trail holds nothing of {subject}",
            hint="`gapsweep trail` lists all entries with their subjects",
        )
    return TrailList(entries=tuple(entries))
