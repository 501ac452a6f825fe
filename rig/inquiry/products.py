"""Product specifications: entered, approved, on record, in force."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.acceptance.attributes import aqls_percent, levels
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.analysis.acceptance.zero_plan import verification_levels
from rig.analysis.limits.verdict import Limits
from rig.analysis.standard.run_against_standard import sensor_limits
from rig.catalogue.toml_input import nearest
from rig.errors import InputError
from rig.inquiry.operators import answering_operator
from rig.model.product import ProductSpecification, ProductVersion, Sampling
from rig.records import Store
from rig.records.product_book import ProductBook


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductRow:
    """One version of a product specification.

    Attributes:
        product: Name of the product.
        version: The version with all that is specified.
        limits: Limits by symbol, as shares of s_n or s_r; the standard's where the
            data sheet states none.
        in_force: Whether it is the newest approved version, which runs, batches and
            lots refer to.
    """

    product: str
    version: ProductVersion
    limits: Mapping[str, Limits]
    in_force: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """Product specifications on record.

    Attributes:
        products: Versions, by name and version.
    """

    products: tuple[ProductRow, ...]


def enter_products(
    store: Store,
    found: Sequence[ProductSpecification],
    *,
    author: str,
    now: datetime,
) -> Products:
    """Put specifications on record, each as the next version; all or none.

    Nothing refers to a version before it is approved.

    Args:
        store: Open records.
        found: What is specified.
        author: Name of whoever enters them.
        now: The time, UTC.

    Raises:
        InputError: Nobody is named, a limit is not possible, a sampling plan is not in
            the tables, or a specification is as its last version is.
        RecordsError: They cannot be kept.
    """
    _check_name(author, "enters it")
    for one in found:
        _check_specification(one)
    author = answering_operator(store, author)
    entered = ProductBook(store).enter(found, author=author, now=now)
    return Products(products=tuple(_row(one, in_force=False) for one in entered))


def approve_product(
    store: Store,
    name: str,
    version: int | None = None,
    *,
    approver: str,
    now: datetime,
) -> Products:
    """Put on record that somebody approves a version; it is then in force.

    Args:
        store: Open records.
        name: Name of the product.
        version: Version to approve; None for the last.
        approver: Name of whoever approves it.
        now: The time, UTC.

    Raises:
        InputError: Nobody is named, there is no such version, a later one is approved
            already, or it is.
        RecordsError: It cannot be kept.
    """
    _check_name(approver, "approves it")
    approver = answering_operator(store, approver)
    book = ProductBook(store)
    every = _of_name(book.versions(), name)
    wanted = every[-1].version if version is None else version
    approved = _in_force(every)
    if approved is not None and wanted < approved.version:
        raise InputError(
            f"{approved.title} is approved already, so version {wanted} is out of date",
            hint="enter what it says as a new version",
        )
    found = book.approve(every[-1].name, wanted, approver=approver, now=now)
    return Products(products=(_row(found, in_force=True),))


def products_on_record(store: Store, name: str | None = None) -> Products:
    """Return every version of every product, or of one.

    Raises:
        InputError: There is no product of that name.
        RecordsError: The records cannot be read.
    """
    every = ProductBook(store).versions()
    if name is not None:
        every = _of_name(every, name)
    by_name: dict[str, list[ProductVersion]] = {}
    for one in every:
        by_name.setdefault(one.name, []).append(one)
    return Products(
        products=tuple(
            _row(one, in_force=one == _in_force(versions))
            for versions in by_name.values()
            for one in versions
        )
    )


def product_in_force(book: ProductBook, name: str) -> ProductVersion:
    """Return the version of a product that runs, batches and lots refer to.

    Raises:
        InputError: There is no product of that name, or no version is approved.
        RecordsError: The records cannot be read.
    """
    every = _of_name(book.versions(), name)
    found = _in_force(every)
    if found is None:
        raise InputError(
            f"no version of product {every[-1].name!r} is approved",
            hint=f"`gapsweep product approve {every[-1].name!r} --by NAME`",
        )
    return found


def products_in_force(store: Store) -> dict[str, ProductVersion]:
    """Return the version in force of each product that has one, by its name.

    Raises:
        RecordsError: The records cannot be read.
    """
    # Versions come in the order in which they were entered: the last approved stays
    every = ProductBook(store).versions()
    return {one.name: one for one in every if one.approval is not None}


def _of_name(every: Sequence[ProductVersion], name: str) -> list[ProductVersion]:
    trimmed = " ".join(name.split())
    own = [one for one in every if one.name == trimmed]
    if own:
        return own
    names = dict.fromkeys(one.name for one in every)
    raise InputError(
        f"there is no product {trimmed!r} on record",
        hint=nearest(trimmed, names) if names else "`gapsweep product add` enters one",
    )


def _in_force(versions: Sequence[ProductVersion]) -> ProductVersion | None:
    approved = [one for one in versions if one.approval is not None]
    return approved[-1] if approved else None


def _check_name(name: str, does: str) -> None:
    if not name.strip():
        raise InputError(f"nobody is named who {does}", hint="give a name")


def _check_specification(found: ProductSpecification) -> None:
    sensor_limits(found.sensor)
    if found.sampling is not None:
        try:
            _check_sampling(found.sampling)
        except InputError as exc:
            raise InputError(f"product {found.name}: {exc}", hint=exc.hint) from exc


def _check_sampling(sampling: Sampling) -> None:
    aql, known = sampling.aql_percent, levels()
    if aql is None:
        known = verification_levels()
    elif aql not in aqls_percent():
        percents = ", ".join(f"{value:g}" for value in aqls_percent())
        raise InputError(
            f"an AQL of {aql:g} % is not in the table", hint=f"one of {percents} %"
        )
    if sampling.sample is not None and aql is not None:
        variables_plan(sampling.sample, aql_percent=aql)
    elif sampling.level not in known:
        raise InputError(
            f"there is no inspection level {sampling.level!r}",
            hint=f"one of {', '.join(known)}",
        )


def _row(version: ProductVersion, *, in_force: bool) -> ProductRow:
    return ProductRow(
        product=version.name,
        version=version,
        limits={
            symbol: entry.limits()
            for symbol, entry in sensor_limits(version.specification.sensor).items()
        },
        in_force=in_force,
    )
