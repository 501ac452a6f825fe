"""What is declared of the bench of a rig, and what is assumed beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
    knowledge_of,
)
from rig.model.bench_items import ITEM_OF_KEY, NOT_INCLUDED
from rig.model.settings import BenchSettings
from rig.records import Store
from rig.records.benches import BenchBook, BenchEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchItemRow:
    """One item of a bench with the number that is in force.

    Attributes:
        key: Key of the item, as typed after `gapsweep bench set`.
        words: What it is.
        form: What the number says: a value, a bound, a standard uncertainty.
        value: The number, in `unit`.
        unit: Unit of the number.
        source: Where it comes from.
        reason: Why it is assumed so; empty if it is declared.
    """

    key: str
    words: str
    form: str
    value: float
    unit: str
    source: ValueSource
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredBench:
    """The bench of one rig.

    Attributes:
        rig_id: The rig; null for what is assumed of any rig.
        screw_class: Accuracy class of the screw; null for none.
        author: Who declared it; null if nobody said.
        entered_at: When it was declared, UTC; null if nothing is.
        items: Every item.
        not_included: What no budget includes, whatever is declared.
    """

    rig_id: str | None
    screw_class: str | None
    author: str | None
    entered_at: datetime | None
    items: tuple[BenchItemRow, ...]
    not_included: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredBenches:
    """The benches on record.

    Attributes:
        benches: The newest declaration of every rig; what is assumed of any rig where
            none is on record.
        earlier: How many other declarations there are.
    """

    benches: tuple[DeclaredBench, ...]
    earlier: int


def declare_bench(
    store: Store,
    rig_id: str,
    declaration: BenchDeclaration,
    *,
    take_back: tuple[str, ...] = (),
    author: str,
    now: datetime,
    whole: bool,
) -> DeclaredBench:
    """Put a declaration on record; it is then in force for the rig.

    Args:
        store: Open records.
        rig_id: Identity of the rig.
        declaration: What is declared.
        take_back: Keys of items that are assumed again.
        author: Who declares it; may be empty.
        now: Time of entry, UTC.
        whole: Whether it takes the place of all that was declared before.

    Raises:
        RecordsError: It cannot be kept.
    """
    book = BenchBook(store)
    before = NOTHING_DECLARED if whole else _in_force(book, rig_id)
    found = before.changed(declaration).without(take_back)
    entry = BenchEntry(rig_id=rig_id, declaration=found, author=author, entered_at=now)
    book.add(entry)
    return _bench(entry)


def benches_on_record(store: Store, rig_id: str | None = None) -> DeclaredBenches:
    """Return what is declared of every rig, or of one.

    Args:
        store: Open records.
        rig_id: Identity of the rig; None for all that are on record.

    Raises:
        RecordsError: The records cannot be read.
    """
    entries = BenchBook(store).every()
    if rig_id is not None:
        entries = [entry for entry in entries if entry.rig_id == rig_id]
    newest = {entry.rig_id: entry for entry in entries}
    found = tuple(_bench(entry) for entry in newest.values())
    return DeclaredBenches(
        benches=found or (_assumed(rig_id),), earlier=len(entries) - len(newest)
    )


def no_benches(rig_id: str | None) -> DeclaredBenches:
    """Return what is assumed of a rig, or of any, without records."""
    return DeclaredBenches(benches=(_assumed(rig_id),), earlier=0)


def _in_force(book: BenchBook, rig_id: str) -> BenchDeclaration:
    found = [entry for entry in book.every() if entry.rig_id == rig_id]
    return found[-1].declaration if found else NOTHING_DECLARED


def _bench(entry: BenchEntry) -> DeclaredBench:
    return DeclaredBench(
        rig_id=entry.rig_id,
        screw_class=entry.declaration.screw_class or None,
        author=entry.author or None,
        entered_at=entry.entered_at,
        items=_items(entry.declaration),
        not_included=NOT_INCLUDED,
    )


def _assumed(rig_id: str | None) -> DeclaredBench:
    return DeclaredBench(
        rig_id=rig_id,
        screw_class=None,
        author=None,
        entered_at=None,
        items=_items(NOTHING_DECLARED),
        not_included=NOT_INCLUDED,
    )


def _items(declaration: BenchDeclaration) -> tuple[BenchItemRow, ...]:
    speed = BenchSettings().touch_speed_mm_s
    known = knowledge_of(declaration, touch_speed_mm_s=speed)
    rows = []
    for key, value, source in known.values:
        item = ITEM_OF_KEY[key]
        rows.append(
            BenchItemRow(
                key=key,
                words=item.words,
                form=item.form.value,
                value=value,
                unit=item.unit,
                source=source,
                reason=item.reason if source is ValueSource.ASSUMED else "",
            )
        )
    return tuple(rows)
