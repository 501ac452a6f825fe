"""The verb of `gapsweep lot` that inspects a part."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from rig.cli.asked_about import asked_about, sure_option
from rig.cli.lot_options import LOT_EXAMPLE, lot_argument
from rig.cli.motions import moves
from rig.cli.options import catalogue_option, example, json_option, records_option
from rig.cli.output import say, say_document
from rig.cli.statistics_options import measuring_options
from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.procedures.motions_ahead import touch_off_and_run_ahead

if TYPE_CHECKING:
    from rig.inquiry.lot_reading import EnteredPart
    from rig.records import Store


@click.command(epilog=example(f"gapsweep lot part {LOT_EXAMPLE} 17 --rig sim://"))
@lot_argument
@click.argument("part", metavar="NUMBER")
@click.option("--rig", "rig_name", metavar="PORT", help="Measure the part now.")
@measuring_options
@click.option(
    "--verdict",
    "for_verdict",
    is_flag=True,
    help="With --rig: stop as soon as the figures are clear of the lot's limits.",
)
@click.option("--run", "run_id", default="", metavar="RUN", help="A run on record.")
@click.option("--value", type=float, help="A value from elsewhere.")
@click.option("--uncertainty", type=float, help="Its expanded uncertainty, 95 %.")
@sure_option
@click.option("--conforms", "seen", flag_value="yes", help="Visual check passed.")
@click.option("--fails", "seen", flag_value="no", help="Visual check failed.")
@click.option("--reason", default="", help="What was seen.")
@click.option("--operator", default="", help="Name of the inspector.")
@click.option(
    "--authority", default="", help="Who permits a failed part to be inspected again."
)
@click.option(
    "--again", default="", metavar="REASON", help="Why a part is inspected again."
)
@catalogue_option
@records_option
@json_option
@moves(touch_off_and_run_ahead(), "with --rig")
def part(
    lot_id: str,
    part: str,
    rig_name: str | None,
    run_id: str,
    value: float | None,
    uncertainty: float | None,
    sure: bool,
    seen: str | None,
    reason: str,
    authority: str,
    again: str,
    records: str | None,
    as_json: bool,
    **how: Any,
) -> int:
    """Inspect the next part, and show how many more may fail.

    An undecided part may be inspected again. A part that conforms needs a reason for
    it; a part that does not conform needs a reason and a named authority. The last
    result counts, all are kept, and the lot limits how often. Exits with status 1 if
    the part does not conform.
    """
    ways = [rig_name, run_id or None, value, seen]
    if sum(way is not None for way in ways) != 1:
        raise InputError(
            "give one of --rig, --run, --value, --conforms and --fails",
            hint="each part is inspected in one way",
        )
    if seen is not None and not reason.strip():
        raise InputError("--reason is missing: say what was seen of the part")
    if sure and value is None:
        raise InputError("--sure goes with --value")
    if uncertainty is not None and not (value is not None and uncertainty >= 0.0):
        raise InputError("--uncertainty goes with --value and is 0 or more")
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.lot_reading import enter_by_sight, enter_run, enter_value
    from rig.records.lot_book import LotBook
    from rig.records.run_names import run_named

    now = datetime.now(UTC)
    grounds = Grounds(person=how["operator"], authority=authority, reason=again)
    with open_store(records) as store:
        book = LotBook(store)
        if rig_name is not None:
            wanted = {"rig_name": rig_name, **how}
            entered = _measured(store, lot_id, part, wanted, grounds)
        elif run_id:
            named = run_named(store, run_id)
            entered = enter_run(store, lot_id, part, named, now=now, grounds=grounds)
        elif value is not None:
            given = (lot_id, part, value, uncertainty)
            entered = asked_about(
                lambda sure: enter_value(
                    book, *given, now=now, sure=sure, grounds=grounds
                ),
                sure=sure,
            )
        else:
            entered = enter_by_sight(
                book,
                lot_id,
                part,
                conforms=seen == "yes",
                reason=reason,
                now=now,
                grounds=grounds,
            )
    return _say_part(entered, as_json=as_json)


def _measured(
    store: Store, lot_id: str, part: str, how: dict[str, Any], grounds: Grounds
) -> EnteredPart:
    from rig.cli.open_rig import SETTINGS
    from rig.cli.part_measurement import Measurement, mounted_part
    from rig.inquiry.lot import standing_of
    from rig.inquiry.lot_again import grounds_of_reading
    from rig.inquiry.lot_reading import check_room
    from rig.procedures.lot_part import measure_part_of_lot
    from rig.procedures.run_context import RunContext
    from rig.records.lot_book import LotBook

    # Before anybody mounts a part that the lot does not take
    standing = standing_of(LotBook(store), lot_id)
    check_room(standing, part)
    permitted = grounds_of_reading(store, standing, part, grounds)
    how["operator"] = permitted.person
    with mounted_part(Measurement(**how), part, f"lot {lot_id}") as due:
        context = RunContext.on(due.mover, SETTINGS, store, due.tell)
        _, entered = measure_part_of_lot(context, store, lot_id, due.order, grounds)
    return entered


def _say_part(entered: EnteredPart, *, as_json: bool) -> int:
    from rig.analysis.limits.verdict import Decision
    from rig.cli.text.lot_text import part_text
    from rig.cli.text.standard_text import status_of
    from rig.inquiry.lot_reading import lot_part_document
    from rig.sheets.lot_sheet import lot_head

    standing, part = entered.standing, entered.part
    if as_json:
        say_document("lot-part", lot_part_document(entered))
    else:
        head = lot_head(standing)
        row = next(one for one in head.parts if one.part == part.part)
        say(part_text(row, head))
    return status_of([Decision(part.decision)])
