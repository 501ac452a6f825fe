"""The lots on record, a page at a time, each with its parts between their limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import Limits
from rig.analysis.standard.run_against_standard import LIMITED
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_evidence import limits_of_lot
from rig.records import Reader, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart
from rig.records.lot_index import LotsWanted, find_lots


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsSpan:
    """Where the values of the parts of a lot lie.

    Attributes:
        smallest: Smallest value.
        mean: Mean of all values.
        largest: Largest value.
        n: How many parts have a value.
        unit: Unit of the values.
    """

    smallest: float
    mean: float
    largest: float
    n: int
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot of a list.

    Attributes:
        standing: Where its inspection stands.
        span: Where the values of its parts lie; None where none has a value.
        limits: Limits of the figure that is kept with each part; None where nothing
            tells which.
    """

    standing: LotStanding
    span: PartsSpan | None
    limits: Limits | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotList:
    """A page of the lots on record.

    Attributes:
        rows: Lots in the order asked for.
        matching: How many have all words that were asked for.
        on_record: How many there are at all.
    """

    rows: tuple[LotRow, ...]
    matching: int
    on_record: int


def lot_list(store: Store, wanted: LotsWanted) -> LotList:
    """Return a page of lots, all read at one moment.

    Raises:
        RecordsError: The records cannot be read.
        InputError: A limit of a data sheet is not possible.
    """
    with store.snapshot() as moment:
        found = find_lots(moment, wanted)
        book, reader = LotBook(moment), Reader(moment)
        rows = [_row(standing_of(book, lot_id), reader) for lot_id in found.lot_ids]
    return LotList(rows=tuple(rows), matching=found.matching, on_record=found.on_record)


def _row(standing: LotStanding, reader: Reader) -> LotRow:
    span = _span(standing.parts)
    figure = standing.terms.figure
    limits: Limits | None = None
    if span is not None:
        run_ids = [part.run_id for part in standing.parts if part.run_id]
        sensors = {header.sensor for header in reader.headers(run_ids).values()}
        known = limits_of_lot(standing.terms, sensors)
        limits = known.get(figure) or known.get(LIMITED.get(figure, ""))
    return LotRow(standing=standing, span=span, limits=limits)


def _span(parts: Sequence[LotPart]) -> PartsSpan | None:
    known = [part for part in parts if part.value is not None]
    values = [part.value for part in known if part.value is not None]
    if not values:
        return None
    return PartsSpan(
        smallest=min(values),
        mean=sum(values) / len(values),
        largest=max(values),
        n=len(values),
        unit=known[0].unit,
    )
