"""The terms of a lot: what its sample is taken and judged by, kept with the lot."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    PlanKind,
    Severity,
    attribute_plan,
)
from rig.analysis.acceptance.double_plan import double_plan
from rig.analysis.acceptance.variables_plan import (
    VariablesPlan,
    variables_plan,
    variables_plan_of_lot,
)
from rig.analysis.acceptance.zero_plan import zero_plan
from rig.analysis.limits.verdict import Limits
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.product import ProductVersion
from rig.records.mapping import product_in

ATTRIBUTES = "attributes"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTerms:
    """The terms of a lot.

    Attributes:
        method: "attributes" or "variables".
        size: Number of parts in the lot.
        level: Inspection level, or verification level of zero acceptance; empty where
            the sample was said.
        severity: Severity in force when the lot was begun.
        aql_percent: Acceptance quality limit; None for zero acceptance, which has none.
        sample: Number of parts to measure by variables, where it was said; None where
            the table gives it.
        figure: Name of the figure that limits hold for.
        lower: Limit in the unit of the figure; None without one.
        upper: Limit in the unit of the figure; with neither limit, parts are held
            against the standard.
        rule: Name of the decision rule.
        product: Product that the parts should be, as it is specified when the lot is
            begun; None for a lot that only has a name of its product.
        repeats: How often a part may be inspected again, at most; None for a lot from
            before this was bounded.
        sampling: "single", "double" or "zero", by attributes; single otherwise.
    """

    method: str
    size: int
    level: str
    severity: str
    aql_percent: float | None
    sample: int | None
    figure: str
    lower: float | None
    upper: float | None
    rule: str
    product: ProductVersion | None = None
    repeats: int | None = None
    sampling: str = PlanKind.SINGLE.value

    @property
    def limits(self) -> Limits | None:
        """Limits of the figure; None where the standard decides."""
        if self.lower is None and self.upper is None:
            return None
        return Limits(
            lower=-math.inf if self.lower is None else self.lower,
            upper=math.inf if self.upper is None else self.upper,
            unit=KIND_OF_OPTION[self.figure].unit,
            source="agreed for the lot"
            if self.product is None
            else f"specification of {self.product.title}",
        )

    @property
    def plan(self) -> AttributePlan | VariablesPlan:
        """Sampling plan of the method."""
        if self.method == ATTRIBUTES:
            return self.attribute_plan()
        return self.variables_plan()

    def attribute_plan(self) -> AttributePlan:
        """Return the sampling plan by attributes."""
        return plan_to_come(
            self.size,
            self.aql_percent,
            level=self.level,
            severity=self.severity,
            sampling=self.sampling,
        )

    def variables_plan(self) -> VariablesPlan:
        """Return the plan of the s method."""
        return variables_plan_to_come(
            self.size,
            self.aql_percent,
            level=self.level,
            severity=self.severity,
            sample=self.sample,
        )


def terms_of(record: Mapping[str, Any]) -> LotTerms:
    """Return the terms that the records keep."""
    return LotTerms(**{**record, "product": product_in(record.get("product"))})


def check_terms(terms: LotTerms) -> None:
    """Refuse terms that no lot can be judged by.

    Raises:
        InputError: They do not go together, or are not in the tables.
    """
    if terms.method == ATTRIBUTES:
        if terms.sample is not None:
            raise InputError(
                "--sample goes with --method variables only",
                hint="by attributes the table gives the sample",
            )
        terms.attribute_plan()
    else:
        if terms.sampling != PlanKind.SINGLE.value:
            raise InputError(
                f"--sampling {terms.sampling} goes with --method attributes only",
                hint="the s method takes one sample",
            )
        plan = terms.variables_plan()
        if terms.size < plan.sample:
            raise InputError(
                f"the lot of {terms.size} is smaller than the sample of {plan.sample}",
                hint="take a smaller sample of the table, or inspect by attributes",
            )
        if terms.limits is None:
            raise InputError(
                "by variables a lot needs --lower, --upper or both",
                hint="the figure itself is judged, not each part",
            )
    if terms.repeats is not None and terms.repeats < 0:
        raise InputError(
            f"{terms.repeats} repeats of a part are not possible", hint="give 0 or more"
        )
    # A limit that cannot be is found out before the first part
    _ = terms.limits


def plan_to_come(
    size: int,
    aql_percent: float | None,
    *,
    level: str,
    severity: str,
    sampling: str = PlanKind.SINGLE.value,
) -> AttributePlan:
    """Return the sampling plan by attributes of a lot that is to come.

    Args:
        size: Number of parts in the lot.
        aql_percent: Acceptance quality limit; None for zero acceptance.
        level: Inspection level, or verification level of zero acceptance.
        severity: Severity of the inspection.
        sampling: "single", "double" or "zero".

    Raises:
        InputError: Size, limit or level is not in the tables.
    """
    strictness = Severity(severity)
    if sampling == PlanKind.ZERO.value:
        if aql_percent is not None:
            raise InputError(
                "zero acceptance has no AQL",
                hint="leave --aql out: --level, a verification level, sets the sample",
            )
        return zero_plan(size, level=level, severity=strictness)
    look_up = double_plan if sampling == PlanKind.DOUBLE.value else attribute_plan
    return look_up(
        size, aql_percent=_known(aql_percent), level=level, severity=strictness
    )


def variables_plan_to_come(
    size: int,
    aql_percent: float | None,
    *,
    level: str,
    severity: str,
    sample: int | None = None,
) -> VariablesPlan:
    """Return the plan of the s method of a lot that is to come.

    Args:
        size: Number of parts in the lot.
        aql_percent: Acceptance quality limit.
        level: Inspection level; counts where no sample is said.
        severity: Severity of the inspection.
        sample: Number of parts to measure; None where the table gives it.

    Raises:
        InputError: Size, limit, level or sample is not in the tables.
    """
    known, strictness = _known(aql_percent), Severity(severity)
    if sample is not None:
        return variables_plan(sample, aql_percent=known, severity=strictness)
    return variables_plan_of_lot(
        size, aql_percent=known, level=level, severity=strictness
    )


def _known(aql_percent: float | None) -> float:
    if aql_percent is None:
        raise InputError("the AQL is missing", hint="say --aql, such as 1.0")
    return aql_percent
