"""What of the records is exported: runs that are chosen, and what belongs to them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime

from rig.model.attempts import Attempt
from rig.model.part_number import one_spelling
from rig.model.sweeps import RunHeader
from rig.records.entries import RunFilter
from rig.records.lot_book import LotBook
from rig.records.product_book import ProductBook
from rig.records.reader import EVERY_RUN, Reader
from rig.records.studies import StudyBook


@dataclass(frozen=True, slots=True, kw_only=True)
class Belonging:
    """What belongs to the runs that are chosen.

    Attributes:
        run_ids: The runs, and attempts that came to none.
        rig_ids: Rigs that they were made on.
        plan_ids: Plans that they belong to.
        products: Products that they were made for, and the one that was named.
        parts: Parts that were named.
        lots: Lots that were named, or that are of the named product.
        others: Whether a named part or product is on record without any run.
        since: Only entries of this time or later; None for any.
        until: Only entries before this time; None for any.
        by_time_alone: Whether nothing but the time was chosen by.
    """

    run_ids: frozenset[str]
    rig_ids: frozenset[str]
    plan_ids: frozenset[str]
    products: frozenset[str]
    parts: frozenset[str]
    lots: frozenset[str]
    others: bool
    since: datetime | None
    until: datetime | None
    by_time_alone: bool

    @property
    def found(self) -> bool:
        """Whether there may be anything that goes with the choice."""
        return bool(self.run_ids or self.lots or self.by_time_alone or self.others)

    @property
    def subjects(self) -> frozenset[str]:
        """Everything that an entry of the trail may be about."""
        return self.run_ids | self.rig_ids | self.products | self.lots

    def admits(
        self, at: datetime, *, run_id: str = "", part: str = "", lot: str = ""
    ) -> bool:
        """Return whether an entry goes with what is chosen.

        Args:
            at: When it was entered, UTC.
            run_id: Run that it rests on; empty for none.
            part: Part that it is of; empty for none.
            lot: Lot that it belongs to; empty for none.
        """
        if run_id in self.run_ids:
            return True
        named = one_spelling(part) in self.parts or lot in self.lots
        return (named or self.by_time_alone) and self._in_time(at)

    def admits_among(self, subjects: Collection[str], name: str, at: datetime) -> bool:
        """Return whether an entry about a rig, a product or the like goes with it.

        Args:
            subjects: Rigs, products or others that belong to what is chosen.
            name: The one that the entry is about.
            at: When it was entered, UTC.
        """
        return name in subjects or (self.by_time_alone and self._in_time(at))

    def _in_time(self, at: datetime) -> bool:
        early = self.since is not None and at < self.since
        return not early and (self.until is None or at < self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportChoice:
    """What is exported.

    Attributes:
        wanted: Runs, and attempts at them.
        belonging: What belongs to them; None where everything is exported.
    """

    wanted: RunFilter = EVERY_RUN
    belonging: Belonging | None = None


EVERYTHING = ExportChoice()


def choose(
    reader: Reader,
    wanted: RunFilter = EVERY_RUN,
    *,
    lots: Collection[str] = (),
    product: str = "",
) -> ExportChoice:
    """Find what belongs to some runs.

    Args:
        reader: Open records.
        wanted: Runs by their own properties.
        lots: Only runs behind results of these lots, and the lots; none for any.
        product: Only runs made for this product, and its lots; empty for any.

    Raises:
        RecordsError: A lot is not on record, or the records cannot be read.
    """
    if wanted == EVERY_RUN and not lots and not product:
        return EVERYTHING
    book = LotBook(reader.store)
    for lot_id in lots:
        book.lot(lot_id)  # complains of one that is not on record
    behind = {one.run_id for lot_id in lots for one in book.readings(lot_id)}
    headers = reader.headers([run.run_id for run in reader.runs(wanted)])
    chosen = {
        run_id: header
        for run_id, header in headers.items()
        if (not lots or run_id in behind)
        and (not product or (header.product and header.product.name == product))
    }
    tried = {
        one.run_id: one
        for one in reader.attempts(wanted)
        if not lots and (not product or (one.product and one.product.name == product))
    }
    of_product = {lot.lot_id for lot in book.all_lots() if lot.product == product}
    known: list[RunHeader | Attempt] = [*chosen.values(), *tried.values()]
    run_ids = frozenset(chosen) | frozenset(tried)
    by_time = RunFilter(since=wanted.since, until=wanted.until)
    return ExportChoice(
        wanted=replace(wanted, run_ids=tuple(sorted(run_ids)))
        if lots or product
        else wanted,
        belonging=Belonging(
            run_ids=run_ids,
            rig_ids=frozenset(
                [header.conditions.rig_id for header in chosen.values()]
                + [one.rig_id for one in tried.values()]
            ),
            plan_ids=frozenset(one.plan_id for one in known if one.plan_id),
            products=frozenset(one.product.name for one in known if one.product)
            | frozenset([product] if product else []),
            parts=frozenset([one_spelling(wanted.part)] if wanted.part else []),
            lots=frozenset(lots) | of_product,
            others=_without_runs(reader, wanted.part or "", product),
            since=wanted.since,
            until=wanted.until,
            by_time_alone=wanted == by_time and not lots and not product,
        ),
    )


def _without_runs(reader: Reader, part: str, product: str) -> bool:
    """Return whether a lot or a study has the part, or the product is specified."""
    store = reader.store
    if part and (
        LotBook(store).readings_of_part(part) or StudyBook(store).readings_of_part(part)
    ):
        return True
    versions = ProductBook(store).versions() if product else []
    return any(version.name == product for version in versions)
