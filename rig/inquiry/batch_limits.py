"""Which limits the parts of a batch are held against, and which were not looked at."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from rig.analysis.limits.verdict import Limits
from rig.analysis.standard.product_match import why_no_verdict
from rig.analysis.standard.run_against_standard import (
    LIMITED,
    NO_PRODUCT,
    limits_of_sensor,
)
from rig.analysis.standard.switching_delay import delay_limits
from rig.inquiry.part_verdict import DELAY, EVERY_LIMIT
from rig.inquiry.parts import Parts
from rig.inquiry.runs_behind import RunBehind
from rig.model.figure_kinds import figure_name
from rig.model.product import ProductVersion


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLimits:
    """Limits of a batch.

    Attributes:
        limits: Limits of the figure of every part; None for none.
        looked_at: All limits that verdicts rest on, by symbol or name of the figure.
        every: Whether the run behind a part is held against each of them, and not only
            the figure of the batch.
        statements: What the verdicts do not cover, or why there are no limits.
    """

    limits: Limits | None
    looked_at: Mapping[str, Limits] = field(default_factory=dict)
    every: bool = False
    statements: tuple[str, ...] = ()


def limits_of_batch(
    collected: Parts, lower: float | None, upper: float | None, unit: str
) -> BatchLimits:
    """Return what the parts of a batch are held against.

    Args:
        collected: The parts.
        lower: Lower limit in place of the data sheet's, in `unit`; None for none.
        upper: Upper limit likewise.
        unit: Unit of the figure.

    Raises:
        InputError: A limit is not possible.
    """
    name, product = figure_name(collected.figure), collected.product
    alone = (
        f"Decided by the {name} alone: no other limit of the data sheet or of the"
        " standard was looked at.",
    )
    if lower is not None or upper is not None:
        given = Limits(
            lower=-math.inf if lower is None else lower,
            upper=math.inf if upper is None else upper,
            unit=unit,
            source="given in place of the data sheet's",
        )
        said = (*alone, *_about_product(collected))
        return BatchLimits(limits=given, looked_at={name: given}, statements=said)
    if collected.figure not in LIMITED:
        return _none(f"There are no limits for the {name}.")
    sensor = collected.sensor
    if sensor is None:
        return _none("No limits: no --sensor was named, nor --lower or --upper.")
    if not collected.standard_target:
        return _none(
            "No limits: they hold for the standard target only."
            if product is None
            else f"No limits: sensor or target do not match {product.title}."
        )
    if product is not None:
        sensor = product.specification.sensor
    known = limits_of_sensor(sensor)
    limits = known[LIMITED[collected.figure]]
    if not collected.runs:
        return BatchLimits(limits=limits, looked_at={name: limits}, statements=alone)
    if sensor.switching_frequency_hz is not None:
        known[DELAY] = delay_limits(sensor.switching_frequency_hz)
    return BatchLimits(
        limits=limits,
        looked_at=known,
        every=True,
        statements=(EVERY_LIMIT, *_about_product(collected)),
    )


def why_not_decided(one: RunBehind, product: ProductVersion | None) -> str:
    """Return why limits of a product may not be held against a run; empty if they may.

    Limits that somebody gives in place of others decide wherever there is no product.
    """
    if product is None:
        return ""
    header = one.run.header
    reasons = why_no_verdict(
        header.sensor, header.target, one.run.conditions, product.specification
    )
    return "; ".join(reasons)


def _none(why: str) -> BatchLimits:
    return BatchLimits(limits=None, statements=(why,))


def _about_product(collected: Parts) -> tuple[str, ...]:
    if not collected.runs:
        return ()
    product = collected.product
    if product is None:
        return (NO_PRODUCT,)
    approval = product.approval
    by = "" if approval is None else f", approved by {approval.approved_by}"
    return (f"Held against {product.title}{by}.",)
