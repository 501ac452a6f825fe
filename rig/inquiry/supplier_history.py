"""A product over its lots, by supplier: control charts, trends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rig.analysis.batch.attribute_charts import (
    AttributeChart,
    rate_chart,
    share_chart,
)
from rig.analysis.batch.control_charts import ChartPair, individuals_chart
from rig.analysis.batch.trend import FEWEST, Trend, trend
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, every_standing
from rig.inquiry.sampled_lot import SampledLot, sampled_lot_of
from rig.records import Store

_FEWEST_CHARTED = 3
_FEWEST_EXPECTED = 5.0  # failing parts a sample, below which 3 sigma is rough


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierHistory:
    """The lots of a product from one supplier.

    Attributes:
        supplier: Name of the supplier; empty if nobody said so.
        lots: Lots in order of time.
        charted: Indices of lots that the charts of shares and failures show.
        shares: Chart of the share of parts that fail; None below 3 lots.
        failures: Chart of the limits that fail, a part; None where no part fails more
            than one.
        charted_means: Indices of lots that the chart of means shows.
        means: Chart of the means; None below 3 of them.
        trend_of_shares: Trend of the shares; None below 4 lots.
        trend_of_means: Trend of the means; None below 4 of them.
        statements: Sentences that go with them.
    """

    supplier: str
    lots: tuple[SampledLot, ...]
    charted: tuple[int, ...]
    shares: AttributeChart | None
    failures: AttributeChart | None
    charted_means: tuple[int, ...]
    means: ChartPair | None
    trend_of_shares: Trend | None
    trend_of_means: Trend | None
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductHistory:
    """A product over its lots.

    Attributes:
        product: Name of the product.
        suppliers: History with each supplier, by name.
    """

    product: str
    suppliers: tuple[SupplierHistory, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliedProduct:
    """A product with a supplier, as lots name them.

    Attributes:
        product: Name of the product.
        supplier: Name of the supplier; empty if nobody said so.
        lots: Number of lots.
        accepted: Lots accepted.
        not_accepted: Lots not accepted.
    """

    product: str
    supplier: str
    lots: int
    accepted: int
    not_accepted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliedProducts:
    """Every product with each of its suppliers.

    Attributes:
        products: Products with their suppliers, by name.
    """

    products: tuple[SuppliedProduct, ...]


def supplied_products(store: Store) -> SuppliedProducts:
    """Return every product with each of its suppliers; withdrawn lots are left out.

    Raises:
        RecordsError: The records cannot be read.
    """
    standing = [one for one in every_standing(store) if one.withdrawal is None]
    return SuppliedProducts(products=tuple(_supplied(standing)))


def _supplied(standings: Sequence[LotStanding]) -> list[SuppliedProduct]:
    found = []
    for product in _by_key(standings, lambda one: one.lot.product):
        for some in _by_key(product, lambda one: one.lot.supplier):
            decided = [one.decision.accepted for one in some if one.decision]
            found.append(
                SuppliedProduct(
                    product=some[-1].lot.product,
                    supplier=some[-1].lot.supplier,
                    lots=len(some),
                    accepted=sum(decided),
                    not_accepted=len(decided) - sum(decided),
                )
            )
    return found


def product_history(
    store: Store, product: str, *, supplier: str | None = None
) -> ProductHistory:
    """Return a product over its lots.

    Args:
        store: Open records.
        product: Name of the product.
        supplier: The one supplier to look at; None for each.

    Raises:
        InputError: No lot of it is on record.
        RecordsError: The records cannot be read.
    """
    return history_of(every_standing(store), product, supplier=supplier)


def history_of(
    standings: Sequence[LotStanding], product: str, *, supplier: str | None = None
) -> ProductHistory:
    """Put the lots of a product into its history.

    Args:
        standings: All lots, in order of time; withdrawn ones are left out.
        product: Name of the product.
        supplier: The one supplier to look at; None for each.

    Raises:
        InputError: There is no lot of it.
    """
    standing = [one for one in standings if one.withdrawal is None]
    own = [one for one in standing if _key(one.lot.product) == _key(product)]
    if not own:
        raise InputError(f"no lot of {product!r} is on record", hint=_known(standing))
    if supplier is not None:
        kept = [one for one in own if _key(one.lot.supplier) == _key(supplier)]
        if not kept:
            raise InputError(
                f"no lot of {product!r} from {supplier!r} is on record",
                hint=_known(own),
            )
        own = kept
    return ProductHistory(
        product=own[-1].lot.product,
        suppliers=tuple(
            _history(some[-1].lot.supplier, tuple(map(sampled_lot_of, some)))
            for some in _by_key(own, lambda one: one.lot.supplier)
        ),
    )


def _history(supplier: str, lots: tuple[SampledLot, ...]) -> SupplierHistory:
    charted = tuple(k for k, one in enumerate(lots) if one.inspected)
    some = [lots[k] for k in charted]
    failing, sizes = [one.failing for one in some], [one.inspected for one in some]
    several = any(one.failures > one.failing for one in some)
    enough = len(some) >= _FEWEST_CHARTED
    shares = share_chart(failing, sizes) if enough else None
    by_mean = _with_means(lots)
    means = [mean for k in by_mean if (mean := lots[k].mean) is not None]
    return SupplierHistory(
        supplier=supplier,
        lots=lots,
        charted=charted,
        shares=shares,
        failures=(
            rate_chart([one.failures for one in some], sizes)
            if enough and several
            else None
        ),
        charted_means=by_mean,
        means=individuals_chart(means) if len(means) >= _FEWEST_CHARTED else None,
        trend_of_shares=(
            trend([f / n for f, n in zip(failing, sizes, strict=True)])
            if len(some) >= FEWEST
            else None
        ),
        trend_of_means=trend(means) if len(means) >= FEWEST else None,
        statements=_statements(lots, some, shares, by_mean),
    )


def _with_means(lots: Sequence[SampledLot]) -> tuple[int, ...]:
    """Return the lots whose means are of the newest figure."""
    known = [k for k, one in enumerate(lots) if one.mean is not None]
    if not known:
        return ()
    newest = lots[known[-1]]
    kept = (newest.figure, newest.unit)
    return tuple(k for k in known if (lots[k].figure, lots[k].unit) == kept)


def _statements(
    lots: Sequence[SampledLot],
    charted: Sequence[SampledLot],
    shares: AttributeChart | None,
    by_mean: Sequence[int],
) -> tuple[str, ...]:
    said = []
    if shares is None:
        said.append(
            f"There is no control chart: {_FEWEST_CHARTED} inspected lots are"
            f" needed, and {len(charted)} are on record."
        )
    else:
        said.append(
            "The limits come from these very lots; what breaks a rule is part of them."
        )
    if shares is not None and shares.centre * min(shares.sizes) < _FEWEST_EXPECTED:
        said.append(
            "The samples are small for this share: less than"
            f" {_FEWEST_EXPECTED:g} failing parts are expected in one, so that limits"
            " at 3 standard deviations are rough (common practice, no source)."
        )
    if short := sum(one.cut_short for one in lots):
        said.append(
            f"{short} of {len(lots)} lots were decided before the whole"
            " sample was inspected; their shares lean towards the decision."
        )
    if undecided := sum(one.undecided for one in charted):
        said.append(f"{undecided} undecided parts are not counted as failing.")
    if again := sum(one.no_longer_failing for one in lots):
        said.append(
            f"{again} parts failed first, were inspected again and fail no longer; by"
            " their first readings the shares would be larger."
        )
    others = sum(one.mean is not None for one in lots) - len(by_mean)
    if others:
        said.append(
            "Not in the chart of means, for they keep another figure or unit:"
            f" {_several(others)}."
        )
    if len(charted) < FEWEST:
        said.append(f"A test for a trend needs {FEWEST} lots.")
    return tuple(said)


def _by_key(
    standings: Sequence[LotStanding], name: Callable[[LotStanding], str]
) -> list[list[LotStanding]]:
    """Group lots by a name, however it is spelled; groups come by that name."""
    groups: dict[str, list[LotStanding]] = {}
    for one in standings:
        groups.setdefault(_key(name(one)), []).append(one)
    return [groups[key] for key in sorted(groups)]


def _key(name: str) -> str:
    """Return a name as it is compared: Baltic Ltd and baltic  ltd are one."""
    return " ".join(name.casefold().split())


def _several(count: int) -> str:
    return f"{count} lot" if count == 1 else f"{count} lots"


def _known(standings: Sequence[LotStanding]) -> str:
    found = _supplied(standings)
    if not found:
        return "`gapsweep lot begin` begins one"
    names = [
        f"{one.product} from {one.supplier}" if one.supplier else one.product
        for one in found
    ]
    return f"on record: {'; '.join(names)}"
