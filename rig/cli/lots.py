"""What `gapsweep lot` does while a delivery is inspected: begin, then each part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.analysis.limits.verdict import Decision
from rig.cli.documents import emit
from rig.cli.measuring import Measurement, measure_part
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.standard_text import FAILED_STATUS
from rig.cli.text.table import SIMULATED
from rig.errors import InputError
from rig.inquiry.lot import (
    LotOrder,
    LotStanding,
    begin_lot,
    check_room,
    counts_of,
    enter_part,
    judge_recorded,
    standing_of,
)
from rig.inquiry.lot_terms import (
    ATTRIBUTES,
    Judged,
    LotTerms,
    judge_figure,
    judge_run,
)
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.figures import Figure
from rig.model.plain import plain
from rig.records import Store
from rig.records.lot_book import LotBook, LotEntry, LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOrder:
    """How a part was, or is to be, inspected; one of the ways only.

    Attributes:
        run_id: A run on record; empty for none.
        measurement: Measure it now; None if not.
        value: A value from elsewhere; None for none.
        expanded_uncertainty: Of that value; None if it has none.
        conforms: What somebody saw; None if nobody looked.
        reason: In the words of whoever looked.
    """

    run_id: str
    measurement: Measurement | None
    value: float | None
    expanded_uncertainty: float | None
    conforms: bool | None
    reason: str


def begin_lot_now(
    options: Mapping[str, Any], *, records: str | None, as_json: bool
) -> int:
    """Put a lot on record and say what to inspect.

    Raises:
        RigError: It cannot be judged by what was said, or not be kept.
    """
    order = LotOrder(
        product=options["product"],
        size=options["size"],
        aql_percent=options["aql"],
        supplier=options["supplier"],
        level=options["level"],
        method=options["method"],
        sample=options["sample"],
        figure=options["figure_name"],
        lower=options["lower"],
        upper=options["upper"],
        rule=options["rule_name"],
        resubmitted=options["resubmitted"],
        operator=options["operator"],
    )
    with open_store(records) as store:
        standing = begin_lot(LotBook(store), order, datetime.now(UTC))
    _say_begun(standing.lot, standing.terms, standing.state, as_json=as_json)
    return 0


def _say_begun(
    lot: LotEntry, terms: LotTerms, state: SwitchingState, *, as_json: bool
) -> None:
    by_attributes = terms.method == ATTRIBUTES
    plan = terms.attribute_plan() if by_attributes else terms.variables_plan()
    if as_json:
        emit({"lot_id": lot.lot_id, "terms": plain(terms), "plan": plain(plan)})
        return
    say(f"lot {lot.lot_id}: {lot.size} parts of {lot.product}")
    if by_attributes:
        own = terms.attribute_plan()
        say(
            f"inspect {own.sample} parts (letter {own.letter}, level {own.level},"
            f" {own.severity.value}, AQL {own.aql_percent:g} %): Ac {own.accept},"
            f" Re {own.reject}; {own.source}"
        )
        for words in own.statements:
            say(f"Note: {words}.")
        say(f"switching: {state.reason}")
    else:
        s_plan = terms.variables_plan()
        say(f"measure {s_plan.sample} parts: s method, k {s_plan.k:g}")
        say(f"Note: {s_plan.source}.")
    say(f"next: gapsweep lot part {lot.lot_id} NUMBER --rig PORT")


def inspect_part(
    lot_id: str, part: str, order: PartOrder, *, records: str | None, as_json: bool
) -> int:
    """Judge a part, put it on record and say what to do next.

    Raises:
        RigError: It cannot be judged, measured or kept.
    """
    with open_store(records) as store:
        book = LotBook(store)
        standing = standing_of(book, lot_id)
        check_room(standing, part)
        judged, run_id, simulated = _judged(store, standing, part, order)
        entry = enter_part(
            book,
            lot_id,
            part,
            judged,
            run_id=run_id,
            simulated=simulated,
            now=datetime.now(UTC),
        )
        standing = standing_of(book, lot_id)
    _say_part(standing, entry, as_json=as_json)
    return FAILED_STATUS if judged.decision is Decision.DOES_NOT_CONFORM else 0


def _judged(
    store: Store, standing: LotStanding, part: str, order: PartOrder
) -> tuple[Judged, str, bool]:
    terms = standing.terms
    if order.measurement is not None:
        note = f"lot {standing.lot.lot_id}"
        run, figures = measure_part(order.measurement, store, part, note)
        simulated = run.header.conditions.simulated
        return judge_run(terms, run, figures), run.header.run_id, simulated
    if order.run_id:
        judged, simulated = judge_recorded(store, terms, part, order.run_id)
        return judged, order.run_id, simulated
    if order.value is not None:
        return judge_figure(terms, _typed_figure(terms, order)), "", False
    if terms.method != ATTRIBUTES:
        raise InputError(
            "by variables a part needs a value", hint="give --run, --value or --rig"
        )
    decision = Decision.CONFORMS if order.conforms else Decision.DOES_NOT_CONFORM
    return Judged(decision=decision, reason=order.reason, figure=None), "", False


def _typed_figure(terms: LotTerms, order: PartOrder) -> Figure:
    known = order.expanded_uncertainty
    return Figure(
        value=float(order.value or 0.0),
        unit=KIND_OF_OPTION[terms.figure].unit,
        expanded_uncertainty=known,
        coverage_factor=None if known is None else 2.0,
        effective_degrees_of_freedom=None,
        standard_deviation=None,
        n=1,
        why_none="" if known is not None else "none was given with the value",
    )


def _say_part(standing: LotStanding, entry: LotPart, *, as_json: bool) -> None:
    found = standing.guidance
    if as_json:
        emit(
            {
                "simulated": entry.simulated,
                "lot_id": standing.lot.lot_id,
                "part": plain(entry),
                "counts": counts_of(standing.parts),
                "sample": standing.sample,
                "guidance": plain(found),
            }
        )
        return
    if entry.simulated:
        say(SIMULATED)
    say(f"part {entry.part}: {entry.decision}. {entry.reason}")
    if found is not None:
        say(found.sentence)
    else:
        say(f"{len(standing.parts)} of {standing.sample} parts measured")
