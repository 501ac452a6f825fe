"""Zero-acceptance plans by attributes: no nonconforming part is accepted."""

from __future__ import annotations

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    PlanKind,
    Severity,
    single_stage,
)
from rig.analysis.acceptance.plan_tables import letter_of_size, plan_tables
from rig.errors import InputError

_TABLES = "zero_plans"


def verification_levels() -> tuple[str, ...]:
    """Verification levels that the table knows.

    Returns
    -------
    tuple of str
        I to VII, from the mildest to the strictest.
    """
    return tuple(reversed(plan_tables(_TABLES)["levels"]))


def zero_plan(
    lot: int, *, level: str, severity: Severity = Severity.NORMAL
) -> AttributePlan:
    """Look up the zero-acceptance plan for a lot.

    Parameters
    ----------
    lot : int
        Parts in the lot, at least 2.
    level : str
        Verification level, I to VII.
    severity : Severity
        Severity of inspection by the switching rules: the level next to the agreed one.

    Returns
    -------
    AttributePlan
        With no AQL: these plans are not indexed by one.

    Raises
    ------
    InputError
        If the lot is below 2 or the level unknown.

    Notes
    -----
    MIL-STD-1916 tables I and II (from memory, not opened). Where the table asks for as
    many parts as the lot has or more, the whole lot is inspected.
    """
    tables = plan_tables(_TABLES)
    levels = tables["levels"]
    if level not in levels:
        raise InputError(
            f"verification level {level!r} is unknown",
            hint=f"one of {', '.join(verification_levels())}",
        )
    at = levels.index(level)
    letter = letter_of_size(lot, tables["code_letters"], at)
    # Samples begin with T, one place before the levels
    moved = {Severity.TIGHTENED: 0, Severity.NORMAL: 1, Severity.REDUCED: 2}[severity]
    asked = tables["samples"][letter][at + moved]
    said: tuple[str, ...] = (
        "severities switch by the rules of the AQL plans here, not by those of"
        " MIL-STD-1916",
    )
    if asked >= lot:
        said += (
            f"the table asks for {asked} parts and the lot has {lot}: inspect them all",
        )
    sample = min(asked, lot)
    return AttributePlan(
        lot=lot,
        letter=letter,
        plan_letter=letter,
        level=level,
        severity=severity,
        aql_percent=None,
        sampling=PlanKind.ZERO,
        stages=single_stage(sample, 0),
        sample=sample,
        accept=0,
        reject=1,
        source=tables["source"],
        statements=said,
    )
