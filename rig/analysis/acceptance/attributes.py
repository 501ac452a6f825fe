"""Acceptance of a lot by counting nonconforming parts: plans and the decision."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rig.analysis.acceptance.plan_checks import check_numbers
from rig.analysis.acceptance.plan_tables import letter_of_size, plan_tables
from rig.errors import InputError

_TABLES = "attribute_plans"


class Severity(StrEnum):
    """How strictly lots are inspected."""

    NORMAL = "normal"
    TIGHTENED = "tightened"
    REDUCED = "reduced"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A sample after which a lot may be decided.

    Attributes
    ----------
    sample : int
        Parts inspected by then, those of earlier samples among them.
    accept : int
        Largest number of nonconforming parts with which the lot is accepted.
    reject : int
        Smallest number with which it is not; in between inspection goes on.
    """

    sample: int
    accept: int
    reject: int


def single_stage(sample: int, accept: int) -> tuple[Stage, ...]:
    """Return the one stage of a single sampling plan.

    Parameters
    ----------
    sample : int
        Parts in the sample.
    accept : int
        Acceptance number.

    Returns
    -------
    tuple of Stage
        One.

    Raises
    ------
    InputError
        If the plan is not possible.
    """
    check_numbers(sample, accept)
    return (Stage(sample=sample, accept=accept, reject=accept + 1),)


class PlanKind(StrEnum):
    """How samples are taken from a lot."""

    SINGLE = "single"
    DOUBLE = "double"
    ZERO = "zero"


@dataclass(frozen=True, slots=True, kw_only=True)
class AttributePlan:
    """A sampling plan for one lot.

    Attributes
    ----------
    lot : int
        Parts in the lot.
    letter : str
        Code letter of the lot size and level.
    plan_letter : str
        Code letter whose plan is used; another one where the table has an arrow.
    level : str
        Inspection level.
    severity : Severity
        Normal, tightened or reduced.
    aql_percent : float or None
        Acceptance quality limit, per cent nonconforming; None for zero acceptance.
    sampling : PlanKind
        Single, double or zero acceptance.
    stages : tuple[Stage, ...]
        Samples after which the lot is decided; two of double sampling.
    sample : int
        Parts to inspect, at most; the whole lot if the table asks for as many or more.
    accept : int
        Acceptance number Ac, of all samples together.
    reject : int
        Rejection number Re, of all samples together: smallest number that is not
        accepted.
    source : str
        Source of the table.
    statements : tuple[str, ...]
        Sentences that go wherever the plan goes.
    """

    lot: int
    letter: str
    plan_letter: str
    level: str
    severity: Severity
    aql_percent: float | None
    sampling: PlanKind
    stages: tuple[Stage, ...]
    sample: int
    accept: int
    reject: int
    source: str
    statements: tuple[str, ...]

    @property
    def most(self) -> int:
        """Largest number of nonconforming parts with which the lot is accepted.

        Above `accept` only under reduced inspection, where a number between the two
        accepts the lot and goes back to normal.
        """
        return self.reject - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDecision:
    """What is done with a lot.

    Attributes
    ----------
    accepted : bool
        Whether the lot is accepted.
    back_to_normal : bool
        True if reduced inspection ends although the lot is accepted.
    nonconforming : int
        Parts that count as nonconforming, those of `not_inspected` among them.
    inspected : int
        Parts inspected.
    not_inspected : int
        Parts that count as nonconforming only because inspection ended before they
        were measured or decided.
    samples : int
        Samples that the decision took: 2 where a second one was needed.
    sentence : str
        The decision in words.
    """

    accepted: bool
    back_to_normal: bool
    nonconforming: int
    inspected: int
    not_inspected: int
    samples: int
    sentence: str

    @property
    def found(self) -> int:
        """Parts that were found nonconforming."""
        return self.nonconforming - self.not_inspected


def levels() -> tuple[str, ...]:
    """Inspection levels that the table knows.

    Returns
    -------
    tuple of str
        S-1 to S-4 and I to III.
    """
    return tuple(plan_tables(_TABLES)["levels"])


def aqls_percent() -> tuple[float, ...]:
    """Acceptance quality limits that the table knows.

    Returns
    -------
    tuple of float
        Per cent nonconforming, rising.
    """
    return tuple(plan_tables(_TABLES)["aql_percent"])


def code_letter(lot: int, level: str = "II") -> str:
    """Look up the code letter.

    Parameters
    ----------
    lot : int
        Parts in the lot, at least 2.
    level : str
        S-1 to S-4 or I to III.

    Returns
    -------
    str
        A to R.

    Raises
    ------
    InputError
        If the lot is below 2 or the level unknown.

    Notes
    -----
    MIL-STD-105E table I (read on public pages that print it); ISO 2859-1:1999, table 1
    (from memory).
    """
    if level not in levels():
        raise InputError(
            f"inspection level {level!r} is unknown",
            hint=f"one of {', '.join(levels())}",
        )
    ranges = plan_tables(_TABLES)["code_letters"]
    return letter_of_size(lot, ranges, levels().index(level))


def attribute_plan(
    lot: int,
    *,
    aql_percent: float,
    level: str = "II",
    severity: Severity = Severity.NORMAL,
) -> AttributePlan:
    """Look up the single sampling plan for a lot.

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
        Where the table has an arrow, the plan that it leads to, with its sample.

    Raises
    ------
    InputError
        If the lot, the limit or the level is not in the table.

    Notes
    -----
    MIL-STD-105E tables II-A (read on a public page that prints it), II-B and II-C (not
    opened; AQL 0.10 to 6.5 as two public packages have them, the other columns by the
    table's own diagonals). ISO 2859-1:1999 has the same normal and tightened plans, but
    other reduced ones (from memory).
    """
    letter = code_letter(lot, level)
    known = aqls_percent()
    if aql_percent not in known:
        raise InputError(
            f"an AQL of {aql_percent:g} % is not in the table",
            hint=f"one of {', '.join(f'{value:g}' for value in known)} %",
        )
    cell = plan_tables(_TABLES)[severity.value][letter][known.index(aql_percent)]
    plan_letter, *numbers = cell.split()
    sample, accept, reject = map(int, numbers)
    said = []
    if severity is Severity.REDUCED:
        said.append("reduced plan of MIL-STD-105E and Z1.4, not of ISO 2859-1")
    if sample >= lot:
        said.append(
            f"the table asks for {sample} parts and the lot has {lot}: inspect them all"
        )
    sample = min(sample, lot)
    return AttributePlan(
        lot=lot,
        letter=letter,
        plan_letter=plan_letter,
        level=level,
        severity=severity,
        aql_percent=aql_percent,
        sampling=PlanKind.SINGLE,
        stages=single_stage(sample, reject - 1),
        sample=sample,
        accept=accept,
        reject=reject,
        source=plan_tables(_TABLES)["source"][severity.value],
        statements=tuple(said),
    )


def quality_words(plan: AttributePlan) -> str:
    """Name what a plan is indexed by.

    Parameters
    ----------
    plan : AttributePlan
        Any plan.

    Returns
    -------
    str
        Such as "AQL 1 %", or without an AQL "verification level IV".
    """
    if plan.aql_percent is None:
        return f"verification level {plan.level}"
    return f"AQL {plan.aql_percent:g} %"


def decide_lot(
    plan: AttributePlan, *, nonconforming: int, inspected: int
) -> LotDecision:
    """Decide about a lot whose single sample is complete.

    Parameters
    ----------
    plan : AttributePlan
        Plan for this lot.
    nonconforming : int
        Parts of the sample that do not conform; what is undecided counts by the rule
        that was agreed, and is not counted here by itself.
    inspected : int
        Parts inspected; the whole sample.

    Returns
    -------
    LotDecision
        Under reduced inspection a number between Ac and Re accepts the lot and goes
        back to normal.

    Raises
    ------
    InputError
        If the sample is not complete, is larger than the lot, or the count impossible.

    Notes
    -----
    MIL-STD-105E, 4.10 and 4.7.4 (from memory).
    """
    if inspected > plan.lot:
        raise InputError(
            f"{inspected} parts inspected of a lot of {plan.lot}",
            hint="give the size of the lot that the sample was taken from",
        )
    if inspected < plan.sample:
        raise InputError(
            f"{inspected} of {plan.sample} parts inspected, so the sample is not"
            " complete",
            hint="go on measuring, or ask for the guidance on the sample so far",
        )
    if not 0 <= nonconforming <= inspected:
        raise InputError(
            f"{nonconforming} nonconforming of {inspected} is not possible",
            hint="count them again",
        )
    accepted = nonconforming < plan.reject
    between = accepted and nonconforming > plan.accept
    word = "accepted" if accepted else "not accepted"
    tail = "; above Ac, so the next lot is inspected normally" if between else ""
    return LotDecision(
        accepted=accepted,
        back_to_normal=between,
        nonconforming=nonconforming,
        inspected=inspected,
        not_inspected=0,
        samples=1,
        sentence=(
            f"lot of {plan.lot} {word}: {nonconforming} nonconforming of {inspected},"
            f" Ac {plan.accept}, Re {plan.reject} ({plan.severity.value},"
            f" {quality_words(plan)}){tail}"
        ),
    )
