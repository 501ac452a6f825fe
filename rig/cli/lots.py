"""What `gapsweep lot` does while a delivery is inspected: begin, then each part."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from rig.analysis.acceptance_attributes import Severity
from rig.analysis.sequential import Guidance, guidance
from rig.analysis.switching_rules import (
    SwitchingState,
    state_from_record,
)
from rig.analysis.verdict import Decision
from rig.cli.documents import emit
from rig.cli.lot_terms import (
    ATTRIBUTES,
    Judged,
    LotTerms,
    check_terms,
    judge_figure,
    judge_run,
    terms_of,
)
from rig.cli.measuring import Measurement, measure_part
from rig.cli.output import say
from rig.cli.plain import plain
from rig.cli.session import open_store
from rig.cli.standard_text import FAILED_STATUS
from rig.cli.statistics_options import FIGURES
from rig.cli.text import SIMULATED
from rig.errors import InputError
from rig.model.figures import Figure
from rig.records import Reader, Store, make_run_id
from rig.records.lots import LotBook, LotEntry, LotPart


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


def state_in_force(book: LotBook, product: str, supplier: str) -> SwitchingState:
    """Return the switching state of a product from a supplier."""
    record = book.switching_state(product, supplier)
    return SwitchingState() if record is None else state_from_record(record)


def begin_lot(options: Mapping[str, Any], *, records: str | None, as_json: bool) -> int:
    """Put a lot on record and say what to inspect.

    Raises:
        RigError: It cannot be judged by what was said, or not be kept.
    """
    now = datetime.now(UTC)
    with open_store(records) as store:
        book = LotBook(store)
        state = state_in_force(book, options["product"], options["supplier"])
        by_attributes = options["method"] == ATTRIBUTES
        if by_attributes and state.discontinued:
            raise InputError(
                f"inspection of {options['product']} is discontinued: {state.reason}",
                hint="`gapsweep lot state --resume` once the supplier has acted",
            )
        severity = state.severity if by_attributes else Severity.NORMAL
        terms = LotTerms(
            method=options["method"],
            size=options["size"],
            level=options["level"] if by_attributes else "",
            severity=severity.value,
            aql_percent=options["aql"],
            sample=options["sample"],
            figure=options["figure_name"],
            lower=options["lower"],
            upper=options["upper"],
            rule=options["rule_name"],
        )
        check_terms(terms)
        lot = LotEntry(
            lot_id=make_run_id(now, random.SystemRandom()),
            product=options["product"],
            supplier=options["supplier"],
            size=options["size"],
            terms=asdict(terms),
            resubmitted=options["resubmitted"],
            operator=options["operator"],
            begun_at=now,
        )
        book.begin(lot)
    _say_begun(lot, terms, state, as_json=as_json)
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
        lot = book.lot(lot_id)
        terms = terms_of(lot.terms)
        _check_room(book, lot, terms, part)
        judged, run_id, simulated = _judged(store, lot, terms, part, order)
        known = judged.figure
        entry = LotPart(
            part=part,
            decision=judged.decision.value,
            reason=judged.reason,
            value=known.value if known else None,
            expanded_uncertainty=known.expanded_uncertainty if known else None,
            unit=known.unit if known else "",
            run_id=run_id,
            simulated=simulated,
            entered_at=datetime.now(UTC),
        )
        book.add_part(lot_id, entry)
        parts = book.parts(lot_id)
    _say_part(lot_id, terms, entry, parts, as_json=as_json)
    return FAILED_STATUS if judged.decision is Decision.DOES_NOT_CONFORM else 0


def _check_room(book: LotBook, lot: LotEntry, terms: LotTerms, part: str) -> None:
    """Refuse a part beyond the sample before anything is measured for it."""
    if not part.strip():
        raise InputError("the number of the part is empty")
    if book.decision(lot.lot_id) is not None:
        raise InputError(
            f"the lot {lot.lot_id} is decided and takes no further part",
            hint="begin a new lot; a lot inspected again is --resubmitted",
        )
    sample = sample_of(terms)
    known = {one.part for one in book.parts(lot.lot_id)}
    if part not in known and len(known) >= sample:
        raise InputError(
            f"the sample of {sample} parts is complete",
            hint=f"`gapsweep lot decide {lot.lot_id}`; more parts would change the"
            " plan",
        )


def sample_of(terms: LotTerms) -> int:
    """Return how many parts the terms ask for."""
    if terms.method == ATTRIBUTES:
        return terms.attribute_plan().sample
    return terms.variables_plan().sample


def _judged(
    store: Store, lot: LotEntry, terms: LotTerms, part: str, order: PartOrder
) -> tuple[Judged, str, bool]:
    if order.measurement is not None:
        note = f"lot {lot.lot_id}"
        run, figures = measure_part(order.measurement, store, part, note)
        simulated = run.header.conditions.simulated
        return judge_run(terms, run, figures), run.header.run_id, simulated
    if order.run_id:
        reader = Reader(store)
        run = reader.run(order.run_id)
        if run.header.part and run.header.part != part:
            raise InputError(
                f"run {order.run_id} is of part {run.header.part}, not of {part}"
            )
        found = reader.latest_figures(order.run_id)
        if found is None:
            raise InputError(
                f"run {order.run_id} has no figures",
                hint=f"`gapsweep recompute {order.run_id}` works them out",
            )
        simulated = run.header.conditions.simulated
        return judge_run(terms, run, found), order.run_id, simulated
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
        unit=FIGURES[terms.figure][1],
        expanded_uncertainty=known,
        coverage_factor=None if known is None else 2.0,
        effective_degrees_of_freedom=None,
        standard_deviation=None,
        n=1,
        why_none="" if known is not None else "none was given with the value",
    )


def counts_of(parts: list[LotPart]) -> dict[str, int]:
    """Return how many parts have each decision."""
    found = Counter(part.decision for part in parts)
    return {decision.value: found[decision.value] for decision in Decision}


def guidance_of(terms: LotTerms, parts: list[LotPart]) -> Guidance | None:
    """Return what the parts so far settle; None by variables."""
    if terms.method != ATTRIBUTES:
        return None
    counts = counts_of(parts)
    return guidance(
        terms.attribute_plan(),
        measured=len(parts),
        nonconforming=counts[Decision.DOES_NOT_CONFORM.value],
        undecided=counts[Decision.UNDECIDED.value],
    )


def _say_part(
    lot_id: str,
    terms: LotTerms,
    entry: LotPart,
    parts: list[LotPart],
    *,
    as_json: bool,
) -> None:
    found = guidance_of(terms, parts)
    if as_json:
        emit(
            {
                "simulated": entry.simulated,
                "lot_id": lot_id,
                "part": plain(entry),
                "counts": counts_of(parts),
                "sample": sample_of(terms),
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
        say(f"{len(parts)} of {sample_of(terms)} parts measured")
