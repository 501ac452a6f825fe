"""What is asked before something of a lot is changed: why, by whom, in what words."""

from __future__ import annotations

import asyncio

from textual.content import Content

from rig.analysis.limits.verdict import Decision
from rig.errors import InputError
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_decision import decision_to_come
from rig.inquiry.operators import Operators, operators_on_record
from rig.model.grounds import Grounds
from rig.sheets.lot_outcome_sheet import decision_sheet
from rig.sheets.lot_part_rows import part_row
from rig.sheets.lot_sheet import lot_head
from rig.tui.frame.grounds_form import GroundsForm
from rig.tui.inspector.decide_form import DecideForm, DecisionWish
from rig.tui.inspector.lot_lines import decision_lines, head_line
from rig.tui.inspector.sign_form import SignatureWish, SignForm
from rig.tui.state.app_services import AppServices
from rig.tui.state.keys import START_SHOWN


def needs_grounds(standing: LotStanding, part: str) -> bool:
    """Return whether a part is inspected again only on grounds that are asked for."""
    before = standing.readings_of(part)
    return bool(before) and before[-1].decision != Decision.UNDECIDED


async def ask_grounds(
    app: AppServices, standing: LotStanding, part: str
) -> Grounds | None:
    """Ask why a part is inspected again, and for one that failed who authorises it.

    Returns:
        None if it is not to be inspected again.

    Raises:
        RecordsError: The records cannot be read.
    """
    last = standing.readings_of(part)[-1]
    row = part_row(last, 0)
    failed = last.decision == Decision.DOES_NOT_CONFORM
    form = GroundsForm(
        f"Inspect part {last.part} again?",
        f"On record: {row.verdict}, {row.text}. Both results stay in view."
        f" Nothing moves yet: {START_SHOWN} starts then.",
        operators=await _operators(app),
        person=_person(app, standing),
        with_authority=failed,
    )
    return await app.push_screen_wait(form)


async def ask_withdrawal(app: AppServices, standing: LotStanding) -> Grounds | None:
    """Ask why a lot is withdrawn, and who authorises it once a part was inspected.

    Returns:
        None if it is not to be withdrawn.

    Raises:
        RecordsError: The records cannot be read.
    """
    head = lot_head(standing)
    form = GroundsForm(
        "Withdraw this lot, as begun by mistake?",
        f"{head.name}, {head.size}, {head.progress} inspected. All of it stays on"
        " record, nothing is decided about it, and it counts in no switching rules.",
        operators=await _operators(app),
        person=_person(app, standing),
        with_authority=bool(standing.readings),
    )
    return await app.push_screen_wait(form)


async def ask_decision(
    app: AppServices, standing: LotStanding, *, tick: str, steady: bool
) -> DecisionWish | None:
    """Ask whether what would be decided about a lot goes on record.

    Returns:
        None if it does not.

    Raises:
        RecordsError: The records cannot be read.
    """

    def preview(count_undecided: bool) -> Content:
        found = decision_to_come(
            standing, now=app.now(), count_undecided=count_undecided, steady=steady
        )
        return decision_lines(decision_sheet(found))

    form = DecideForm(
        head_line(lot_head(standing)),
        preview,
        tick=tick,
        operators=await _operators(app),
        person=_person(app, standing),
    )
    return await app.push_screen_wait(form)


async def ask_signature(
    app: AppServices, standing: LotStanding
) -> SignatureWish | None:
    """Ask who signs a lot, in what meaning, and for the PIN.

    Returns:
        None if nobody does.

    Raises:
        InputError: Nobody has a PIN.
        RecordsError: The records cannot be read.
    """
    operators = await _operators(app)
    if not any(one.active and one.has_pin for one in operators.operators):
        raise InputError(
            "no operator has a PIN to sign with",
            hint="`gapsweep operator pin NAME` sets one",
        )
    form = SignForm(standing, operators, person=_person(app, standing))
    return await app.push_screen_wait(form)


async def _operators(app: AppServices) -> Operators:
    return await asyncio.to_thread(lambda: operators_on_record(app.records()))


def _person(app: AppServices, standing: LotStanding) -> str:
    """Return who is likely to act: whoever works here now, or the lot's inspector."""
    return app.particulars.operator or standing.lot.operator
