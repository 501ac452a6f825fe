"""Which figure decided about a run or a part, and the limits that it was held to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rig.analysis.limits.verdict import Verdict
from rig.errors import InputError
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_verdict import Judged, judge_run, judge_value
from rig.inquiry.recorded_run import RecordedRun
from rig.records import Reader, Store
from rig.records.lot_entries import LotPart


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidingFigure:
    """A figure that decided.

    Attributes:
        name: Symbol of the figure, or its name.
        verdict: The figure with its limits and the decision.
    """

    name: str
    verdict: Verdict


def deciding_figure(found: RecordedRun) -> DecidingFigure | None:
    """Return the figure with the gravest verdict on a run; None where none decided."""
    standard = found.standard
    if standard is None:
        return None
    named = [*standard.verdicts.items()]
    if standard.delay is not None:
        named.append(("response time", standard.delay))
    return _first(named, found.verdict or "")


def deciding_figure_of_part(
    store: Store, terms: LotTerms, part: LotPart
) -> DecidingFigure | None:
    """Return the figure that decided about a part of a lot.

    What is on record decides: where its run comes to another decision by now, or the
    part has no value, there is none.

    Raises:
        RecordsError: The records cannot be read.
    """
    if part.value is None:
        return None
    try:
        judged = _judged(store, terms, part, part.value)
    except InputError:
        return None
    if judged is None or judged.decision != part.decision:
        return None
    return _first(judged.verdicts.items(), part.decision)


def _judged(
    store: Store, terms: LotTerms, part: LotPart, value: float
) -> Judged | None:
    if not part.run_id:
        return judge_value(terms, value, part.expanded_uncertainty)
    reader = Reader(store)
    computed = reader.latest_computations([part.run_id]).get(part.run_id)
    if computed is None:
        return None
    return judge_run(terms, reader.run(part.run_id), computed.figures)


def _first(
    named: Iterable[tuple[str, Verdict]], decision: str
) -> DecidingFigure | None:
    for name, one in named:
        if one.decision == decision:
            return DecidingFigure(name=name, verdict=one)
    return None
