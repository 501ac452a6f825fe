"""`gapsweep product`: what sensors should be, specified, approved and kept."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document

if TYPE_CHECKING:
    from rig.inquiry.products import Products

_NAME = "CL-18-8"


@click.group(epilog=example("gapsweep product add products.toml --by 'A. Novak'"))
def command() -> None:
    """Specify products: the sensor, its conditions and limits, and the sampling.

    Runs, batches and lots that name a product are judged by its newest approved
    version; whatever does not match it gets no verdict. Versions never change.
    """


@command.command(epilog=example("gapsweep product add products.toml --by 'A. Novak'"))
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--by", "author", required=True, help="Who enters it.")
@records_option
@json_option
def add(path: Path, author: str, records: str | None, as_json: bool) -> None:
    """Enter the products of a file, each as its next version.

    Either all are entered or none.

    FILE is TOML with a [[product]] table for each, or a table with a row for each: CSV,
    or the first sheet of an .xlsx workbook. A version is not used until it is approved.
    """
    # Deferred: help must answer at once
    from rig.catalogue.product_file import load_products
    from rig.cli.open_rig import open_store
    from rig.inquiry.products import enter_products

    found = load_products(path)
    with open_store(records) as store:
        entered = enter_products(store, found, author=author, now=datetime.now(UTC))
    _say_versions(entered, as_json=as_json)


@command.command(epilog=example(f"gapsweep product approve {_NAME} --by 'B. Weiss'"))
@click.argument("name", metavar="PRODUCT")
@click.option("--version", type=int, help="Version.  [default: the last]")
@click.option("--by", "approver", required=True, help="Who approves it.")
@records_option
@json_option
def approve(
    name: str, version: int | None, approver: str, records: str | None, as_json: bool
) -> None:
    """Approve a version, which is in force from then on."""
    from rig.cli.open_rig import open_store
    from rig.inquiry.products import approve_product

    with open_store(records) as store:
        found = approve_product(
            store, name, version, approver=approver, now=datetime.now(UTC)
        )
    _say_versions(found, as_json=as_json)


@command.command(epilog=example(f"gapsweep product show {_NAME}"))
@click.argument("name", metavar="[PRODUCT]", required=False)
@records_option
@json_option
def show(name: str | None, records: str | None, as_json: bool) -> None:
    """Show a product with every version, or list all products."""
    from rig.cli.open_rig import open_store
    from rig.cli.text.product_text import products_text
    from rig.inquiry.products import products_on_record
    from rig.sheets.product_sheet import product_sheets

    with open_store(records, read_only=True) as store:
        found = products_on_record(store, name)
    if name is not None or as_json:
        _say_versions(found, as_json=as_json)
    else:
        say(products_text(product_sheets(found)))


def _say_versions(found: Products, *, as_json: bool) -> None:
    from rig.cli.text.product_text import versions_text
    from rig.sheets.product_sheet import product_sheets

    if as_json:
        say_document("products", found)
    else:
        say(versions_text(product_sheets(found)))
