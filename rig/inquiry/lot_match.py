"""Whether what is measured is what a lot is of; refused with the reason if not."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.standard.product_match import (
    condition_differences,
    limited_target_differences,
    sensor_differences,
    target_differences,
)
from rig.errors import InputError
from rig.inquiry.lot import LotStanding
from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.model.sweeps import Conditions
from rig.records import Reader, Store


def check_match(
    store: Store,
    standing: LotStanding,
    part: str,
    sensor: Sensor,
    target: Target,
    product: ProductVersion | None,
) -> None:
    """Refuse a sensor or a target that the lot is not of.

    The product says which they must be; without one, the parts measured before.

    Args:
        store: Open records.
        standing: Where the lot stands.
        part: Number of the part.
        sensor: What is measured, or was.
        target: Against what.
        product: Product that it is measured for; None if nobody named one.

    Raises:
        InputError: They are others.
        RecordsError: The records cannot be read.
    """
    wanted = standing.terms.product
    if wanted is not None:
        if product is not None and product.name != wanted.name:
            raise InputError(
                f"part {part} was measured for {product.title}, and the lot is of"
                f" {wanted.title}",
                hint="inspect it in a lot of its own product",
            )
        other = limited_target_differences(sensor, target, wanted.specification)
        _refuse(part, other, f"does not match {wanted.title}")
        return
    first = _first_measured(store, standing, but=part)
    if first is None:
        return
    run_id, its_sensor, its_target = first
    other = (
        *sensor_differences(its_sensor, sensor),
        *target_differences(its_target, target, sensor.principle),
    )
    _refuse(part, other, f"is measured otherwise than the lot was begun, run {run_id}")


def check_conditions(
    standing: LotStanding, part: str, conditions: Sequence[Conditions]
) -> None:
    """Refuse conditions that the product's limits are not for.

    Raises:
        InputError: They are others, or are not recorded.
    """
    wanted = standing.terms.product
    if wanted is not None:
        other = condition_differences(conditions, wanted.specification)
        _refuse(part, other, f"does not match {wanted.title}")


def _refuse(part: str, other: Sequence[str], words: str) -> None:
    if other:
        raise InputError(
            f"no verdict: part {part} {words}: {'; '.join(other)}",
            hint="mount what the lot asks for and measure again",
        )


def _first_measured(
    store: Store, standing: LotStanding, *, but: str
) -> tuple[str, Sensor, Target] | None:
    """Return the first run behind another part of the lot, its sensor and target."""
    run_ids = [one.run_id for one in standing.parts if one.run_id and one.part != but]
    if not run_ids:
        return None
    header = Reader(store).headers(run_ids[:1])[run_ids[0]]
    return header.run_id, header.sensor, header.target
