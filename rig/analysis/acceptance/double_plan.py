"""Double sampling plans by attributes."""

from __future__ import annotations

from dataclasses import replace

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    PlanKind,
    Severity,
    Stage,
    attribute_plan,
)
from rig.analysis.acceptance.plan_tables import plan_tables


def double_plan(
    lot: int,
    *,
    aql_percent: float,
    level: str = "II",
    severity: Severity = Severity.NORMAL,
) -> AttributePlan:
    """Look up the double sampling plan for a lot.

    Parameters
    ----------
    lot : int
        Parts in the lot, at least 2.
    aql_percent : float
        One of those of the table.
    level : str
        S-1 to S-4 or I to III.
    severity : Severity
        Severity of inspection by the switching rules.

    Returns
    -------
    AttributePlan
        The single plan, with a sentence that says so, where the table has no double
        one or both samples together are more than the lot.

    Raises
    ------
    InputError
        If the lot, the limit or the level is not in the table.

    Notes
    -----
    MIL-STD-105E tables III-A to III-C (from memory, not opened).
    """
    single = attribute_plan(
        lot, aql_percent=aql_percent, level=level, severity=severity
    )
    tables = plan_tables("double_plans")
    numbers = tables["numbers"][severity.value]
    key = f"{single.accept} {single.reject}"
    sample = tables["sample"][severity.value].get(single.plan_letter)
    if sample is None or key not in numbers:
        return _single(single, "the table has no double plan here")
    if 2 * sample > lot:
        return _single(single, f"a double plan asks for {2 * sample} parts of {lot}")
    first_accept, first_reject, accept, reject = map(int, numbers[key].split())
    return replace(
        single,
        sampling=PlanKind.DOUBLE,
        stages=(
            Stage(sample=sample, accept=first_accept, reject=first_reject),
            Stage(sample=2 * sample, accept=reject - 1, reject=reject),
        ),
        sample=2 * sample,
        accept=accept,
        reject=reject,
        source=tables["source"][severity.value],
        statements=single.statements,
    )


def _single(plan: AttributePlan, why: str) -> AttributePlan:
    said = f"{why}, so the single plan is used"
    return replace(plan, statements=(*plan.statements, said))
