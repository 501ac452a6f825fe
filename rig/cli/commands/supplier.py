"""`gapsweep supplier`: lots over time, and nonconformities to send."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.errors import InputError

_LOT = "20261125-093412-512-7f3a"
_FILE = click.Path(path_type=Path, dir_okay=False)


@click.group(epilog=example("gapsweep supplier history level-18"))
def command() -> None:
    """Show lots over time; write to a supplier about a lot."""


@command.command("list", epilog=example("gapsweep supplier list"))
@records_option
@json_option
def list_products(records: str | None, as_json: bool) -> None:
    """List every product with its suppliers and the results of their lots."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.history_text import supplied_text
    from rig.inquiry.supplier_history import supplied_products

    with open_store(records, read_only=True) as store:
        found = supplied_products(store)
    if as_json:
        say_document("suppliers", found)
    else:
        say(supplied_text(found.products))


@command.command(epilog=example("gapsweep supplier history level-18 --out h.html"))
@click.argument("product", metavar="PRODUCT")
@click.option("--supplier", help="This supplier only.")
@click.option("--out", type=_FILE, help="Also write a report with control charts.")
@records_option
@json_option
def history(
    product: str,
    supplier: str | None,
    out: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Show a product over its lots: shares, means, control charts, trends."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.history_text import history_text
    from rig.inquiry.chain_anchor import head_of
    from rig.inquiry.supplier_history import product_history
    from rig.sheets.history_sheet import history_sheet

    with open_store(records, read_only=True) as store:
        found = product_history(store, product, supplier=supplier)
        head = head_of(store)
    if out is not None:
        from rig.cli.written_page import write_page
        from rig.report.report_kinds import ReportKind, report_of

        now = datetime.now(UTC)
        made = report_of(ReportKind.HISTORY, found, now=now, head=head)
        write_page(out, made.html, name=made.name)
    if as_json:
        say_document("supplier-history", found)
        return
    say(history_text(history_sheet(found)))
    if out is not None:
        say(f"wrote {out}")


@command.command(
    epilog=example(f"gapsweep supplier nonconformity {_LOT} --letterhead lab.toml")
)
@click.argument("lot_id", metavar="LOT")
@click.option(
    "--letterhead", type=_FILE, metavar="FILE", help="Letterhead (TOML), see `report`."
)
@click.option("--number", default="", help="Document number (default: the next).")
@click.option("--by", "person", default="", help="Who issues it.")
@click.option(
    "--out",
    type=_FILE,
    help="HTML file to write. Default: a name that says what is in it. Nothing is"
    " overwritten.",
)
@records_option
@json_option
def nonconformity(
    lot_id: str,
    letterhead: Path | None,
    number: str,
    person: str,
    out: Path | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Write to the supplier about the parts of a lot that do not conform.

    With --json the parts are printed and nothing is issued.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.nonconformity import nonconformity as asked
    from rig.inquiry.nonconformity import nonconformity_document

    if as_json:
        with open_store(records, read_only=True) as store:
            found = asked(store, lot_id)
        say_document("nonconformity", nonconformity_document(found))
        return
    if letterhead is None:
        raise InputError(
            "a document to send needs --letterhead",
            hint="a TOML file with name and address; --json prints the parts alone",
        )
    from rig.catalogue.letterhead_file import load_letterhead
    from rig.cli.written_page import check_page, write_page
    from rig.report.nonconformity_issue import issue_nonconformity

    check_page(out)
    head, written = load_letterhead(letterhead), []
    with open_store(records) as store:
        issued = issue_nonconformity(
            store,
            asked(store, lot_id),
            head,
            now=datetime.now(UTC),
            write=lambda report: written.append(
                write_page(out, report.html, name=report.name)
            ),
            number=number,
            person=person,
        )
    for path in written:
        say(f"wrote {path}: number {issued.number}")
