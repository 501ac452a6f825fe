"""What `gapsweep lot show`, `curve` and `state` do: they decide nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from rig.analysis.acceptance.operating_curve import OperatingCurve, operating_curve
from rig.analysis.acceptance.switching_rules import resume
from rig.analysis.acceptance.variables import variables_curve
from rig.analysis.limits.verdict import counts_words
from rig.cli.documents import emit
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.table import SIMULATED, table
from rig.inquiry.lot import counts_of, guidance_of, sample_of, state_in_force
from rig.inquiry.lot_terms import ATTRIBUTES, LotTerms, check_terms, terms_of
from rig.model.plain import plain
from rig.records.lot_book import LotBook, LotEntry, LotPart

_SHOWN_POINTS = 11


def show_lots(*, records: str | None, as_json: bool) -> None:
    """List every lot with what was decided about it.

    Raises:
        RecordsError: The records cannot be read.
    """
    with open_store(records, read_only=True) as store:
        book = LotBook(store)
        lots = book.all_lots()
        decisions = {lot.lot_id: book.decision(lot.lot_id) for lot in lots}
    if as_json:
        found = [
            plain(lot) | {"decision": plain(decisions[lot.lot_id])} for lot in lots
        ]
        emit({"lots": found})
        return
    rows = []
    for lot in lots:
        decision = decisions[lot.lot_id]
        state = "open"
        if decision is not None:
            state = "accepted" if decision.accepted else "not accepted"
        rows.append([lot.lot_id, lot.product, lot.supplier, str(lot.size), state])
    say(table(["lot", "product", "supplier", "parts", ""], rows))


def show_lot(lot_id: str, *, records: str | None, as_json: bool) -> None:
    """Show a lot with its parts, the guidance and the decision.

    Raises:
        RecordsError: It is not there.
    """
    with open_store(records, read_only=True) as store:
        book = LotBook(store)
        lot, parts = book.lot(lot_id), book.parts(lot_id)
        readings, decision = book.readings(lot_id), book.decision(lot_id)
    terms = terms_of(lot.terms)
    guide = guidance_of(terms, parts)
    simulated = any(part.simulated for part in parts)
    if as_json:
        emit(
            {
                "simulated": simulated,
                **plain(lot),
                "sample": sample_of(terms),
                "parts": plain(parts),
                "readings": plain(readings),
                "counts": counts_of(parts),
                "guidance": plain(guide),
                "decision": plain(decision),
            }
        )
        return
    if simulated:
        say(SIMULATED)
    say(_lot_text(lot, terms, parts))
    if decision is not None:
        say(decision.sentence)
    elif guide is not None:
        say(guide.sentence)


def _lot_text(lot: LotEntry, terms: LotTerms, parts: list[LotPart]) -> str:
    rows = [
        [
            part.part,
            part.decision,
            "" if part.value is None else f"{part.value:.5g} {part.unit}",
            part.run_id or "by hand",
        ]
        for part in parts
    ]
    counts = counts_words(part.decision for part in parts)
    return "\n".join(
        [
            f"lot {lot.lot_id}: {lot.size} parts of {lot.product}, {terms.method}",
            table(["part", "verdict", "value", "run"], rows),
            f"{len(parts)} of {sample_of(terms)} parts: {counts}",
        ]
    )


def show_curve(
    lot_id: str | None,
    options: dict[str, Any],
    *,
    records: str | None,
    as_json: bool,
) -> None:
    """Show the operating characteristic of a lot's plan, or of one to be made.

    Raises:
        RigError: There is no such lot, or no such plan.
    """
    if lot_id is not None:
        with open_store(records, read_only=True) as store:
            terms = terms_of(LotBook(store).lot(lot_id).terms)
    else:
        terms = LotTerms(**options)
        check_terms(terms)
    if terms.method == ATTRIBUTES:
        plan = terms.attribute_plan()
        words = f"n {plan.sample}, Ac {plan.accept}, lot of {plan.lot}"
        curve = operating_curve(plan.sample, plan.accept, lot=plan.lot)
    else:
        s_plan = terms.variables_plan()
        words = f"n {s_plan.sample}, k {s_plan.k:g}, one limit"
        curve = variables_curve(s_plan)
    if as_json:
        emit({"lot_id": lot_id, "plan": words, **plain(curve)})
        return
    say(_curve_text(words, curve))


def _curve_text(words: str, curve: OperatingCurve) -> str:
    step = max(1, (len(curve.shares) - 1) // (_SHOWN_POINTS - 1))
    rows = [
        [f"{100 * share:.2f}", f"{acceptance:.4f}"]
        for share, acceptance in zip(
            curve.shares[::step], curve.acceptance[::step], strict=True
        )
    ]
    return "\n".join(
        [
            f"{words} ({curve.model})",
            table(["% nonconforming", "accepted with"], rows),
            f"accepted with 95 %: {100 * curve.producer_share:.3g} % nonconforming;"
            f" with 50 %: {100 * curve.indifference_share:.3g} %;"
            f" with 10 %: {100 * curve.consumer_share:.3g} %",
        ]
    )


def show_state(
    product: str,
    supplier: str,
    action: str | None,
    *,
    records: str | None,
    as_json: bool,
) -> None:
    """Show the switching state in force; take inspection up again with an action.

    Raises:
        RigError: Inspection is not discontinued, or the records fail.
    """
    with open_store(records, read_only=action is None) as store:
        book = LotBook(store)
        state = state_in_force(book, product, supplier)
        if action is not None:
            state = resume(state, action)
            book.add_state(product, supplier, state.as_record(), datetime.now(UTC))
    if as_json:
        emit({"product": product, "supplier": supplier, **state.as_record()})
        return
    say(f"{product}: {state.severity.value} inspection ({state.reason})")
    if state.discontinued:
        say("INSPECTION IS DISCONTINUED until the supplier has acted.")
