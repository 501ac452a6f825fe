"""What is declared of the bench of a rig, and what is assumed beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from rig.errors import InputError
from rig.inquiry.bench_effect import BenchEffect, effects_by_rig
from rig.inquiry.operators import answering_operator
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
    item_values,
)
from rig.model.bench_items import ITEM_OF_KEY, NOT_INCLUDED
from rig.records import Reader, Store, Writer
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
        by_class: Whether the accuracy class of the screw says so.
        reason: Why it is assumed so; empty if somebody declared it.
    """

    key: str
    words: str
    form: str
    value: float
    unit: str
    source: ValueSource
    by_class: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredBench:
    """The bench of one rig.

    Attributes:
        rig_id: The rig; null for what is assumed of any rig.
        declared: Whether anything is declared; what was put off is not.
        screw_class: Accuracy class of the screw; null for none.
        screw_class_source: Where the class comes from; null for none.
        author: Who declared it or put it off; null if nobody said.
        entered_at: When it was declared or put off, UTC; null if neither.
        items: Every item that figures rest on, and what else is declared.
        not_included: What no budget includes, whatever is declared.
        effect: How much of the ± of the rig's newest run rests on what was assumed;
            null without such a run.
    """

    rig_id: str | None
    declared: bool
    screw_class: str | None
    screw_class_source: ValueSource | None
    author: str | None
    entered_at: datetime | None
    items: tuple[BenchItemRow, ...]
    not_included: tuple[str, ...]
    effect: BenchEffect | None


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
        InputError: Operators are named, and the author is none of them.
        RecordsError: It cannot be kept.
    """
    book = BenchBook(store)
    before = NOTHING_DECLARED if whole else _in_force(book, rig_id)
    found = before.changed(declaration).without(take_back)
    author = answering_operator(store, author)
    entry = BenchEntry(rig_id=rig_id, declaration=found, author=author, entered_at=now)
    book.add(entry)
    return _bench(entry, effects_by_rig(Reader(store)))


def put_off_bench(
    store: Store, rig_id: str, *, author: str, now: datetime
) -> DeclaredBench:
    """Put on record that nothing is declared of a bench for now; nobody asks again.

    Raises:
        InputError: Something is on record of it already.
        RecordsError: It cannot be kept.
    """
    if bench_answered(store, rig_id):
        raise InputError(
            f"the bench of {rig_id} is on record already, so it cannot be put off",
            hint="`gapsweep bench show` shows it",
        )
    return declare_bench(
        store, rig_id, NOTHING_DECLARED, author=author, now=now, whole=True
    )


def bench_answered(store: Store, rig_id: str) -> bool:
    """Return whether somebody declared the bench of a rig, or put it off.

    Raises:
        RecordsError: The records cannot be read.
    """
    return Writer(store).bench_on_record(rig_id)


def benches_on_record(store: Store, rig_id: str | None = None) -> DeclaredBenches:
    """Return what is declared of every rig, or of one.

    Args:
        store: Open records.
        rig_id: Identity of the rig; None for all that are on record.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as records:
        entries = BenchBook(records).every()
        effects = effects_by_rig(Reader(records))
    if rig_id is not None:
        entries = [entry for entry in entries if entry.rig_id == rig_id]
    newest = {entry.rig_id: entry for entry in entries}
    found = tuple(_bench(entry, effects) for entry in newest.values())
    return DeclaredBenches(
        benches=found or (_assumed(rig_id, effects),),
        earlier=len(entries) - len(newest),
    )


def no_benches(rig_id: str | None) -> DeclaredBenches:
    """Return what is assumed of a rig, or of any, without records."""
    return DeclaredBenches(benches=(_assumed(rig_id, {}),), earlier=0)


def _in_force(book: BenchBook, rig_id: str) -> BenchDeclaration:
    found = [entry for entry in book.every() if entry.rig_id == rig_id]
    return found[-1].declaration if found else NOTHING_DECLARED


def _bench(entry: BenchEntry, effects: Mapping[str, BenchEffect]) -> DeclaredBench:
    declaration = entry.declaration
    named = bool(declaration.screw_class)
    return DeclaredBench(
        rig_id=entry.rig_id,
        declared=declaration != NOTHING_DECLARED,
        screw_class=declaration.screw_class or None,
        screw_class_source=declaration.screw_class_source if named else None,
        author=entry.author or None,
        entered_at=entry.entered_at,
        items=_items(declaration),
        not_included=NOT_INCLUDED,
        effect=effects.get(entry.rig_id),
    )


def _assumed(rig_id: str | None, effects: Mapping[str, BenchEffect]) -> DeclaredBench:
    return DeclaredBench(
        rig_id=rig_id,
        declared=False,
        screw_class=None,
        screw_class_source=None,
        author=None,
        entered_at=None,
        items=_items(NOTHING_DECLARED),
        not_included=NOT_INCLUDED,
        effect=None if rig_id is None else effects.get(rig_id),
    )


def _items(declaration: BenchDeclaration) -> tuple[BenchItemRow, ...]:
    own = {declared.key for declared in declaration.values}
    rows = []
    for key, value, source in item_values(declaration):
        item = ITEM_OF_KEY[key]
        # Somebody may have said another number and called it assumed
        by_default = (source, value) == (ValueSource.ASSUMED, item.assumed)
        if by_default and (item.of_scale or not item.in_runs):
            continue  # nothing rests on it, or not on every rig, unless it is declared
        rows.append(
            BenchItemRow(
                key=key,
                words=item.words,
                form=item.form.value,
                value=value,
                unit=item.unit,
                source=source,
                by_class=not by_default and key not in own,
                reason=item.reason if by_default else "",
            )
        )
    return tuple(rows)
