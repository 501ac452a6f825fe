"""What was tried, with the limits of its operate point and what decides about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision, gravest
from rig.inquiry.effective_range import EffectiveRange, effective_range
from rig.inquiry.run_list import decisions_of_run
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.figure_kinds import applicable
from rig.model.figures import RunFigures
from rig.records import Reader, RunFilter, Store


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedTry:
    """A run, or an attempt that came to none.

    Attributes:
        tried: What came of it.
        figures: Figures that apply to it; None if it has none.
        limits: Limits of the operate point, and the decision about it; None where
            there can be no verdict.
        decision: The gravest of all that decides about it; None for no verdict.
        changed: Whether it is not as it was written.
    """

    tried: Tried
    figures: RunFigures | None
    limits: EffectiveRange | None
    decision: Decision | None
    changed: bool


def judged_tries(store: Store, run_ids: Sequence[str]) -> dict[str, JudgedTry]:
    """Return runs and attempts by their identities, those not on record left out.

    Args:
        store: Open records; a snapshot where they may be written meanwhile.
        run_ids: Identities; a page of a list at a time.

    Raises:
        RecordsError: The records cannot be read.
    """
    reader = Reader(store)
    tried = tried_on_record(store, RunFilter(run_ids=tuple(run_ids)))
    computed, checks = reader.latest_computations(run_ids), reader.checks(run_ids)
    headers = reader.headers(list(computed))
    later = reader.later_conditions(list(computed))
    found: dict[str, JudgedTry] = {}
    for one in tried:
        run_id, run = one.run_id, one.run
        header, latest = headers.get(run_id), computed.get(run_id)
        check, resumed = checks.get(run_id), later.get(run_id, ())
        changed = check is not None and bool(check.changes)
        figures = limits = None
        decisions = [] if one.decision is None else [one.decision]
        if header is not None and latest is not None:
            figures = applicable(latest.figures, header.timetable)
            if run is not None and not run.void and not changed:
                limits = effective_range(header, figures, resumed)
                decisions += decisions_of_run(run, header, figures, resumed).values()
        found[run_id] = JudgedTry(
            tried=one,
            figures=figures,
            limits=limits,
            decision=gravest(decisions),
            changed=changed,
        )
    return found
