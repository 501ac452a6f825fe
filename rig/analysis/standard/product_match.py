"""Whether limits may be held against what was measured: sensor, target, conditions."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.run.repeat_conditions import TEMPERATURE_C
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.model.bench_declaration import BenchKnowledge, DeclaredValue, ValueSource
from rig.model.bench_items import SUPPLY, SUPPLY_TOLERANCE
from rig.model.mounted import Principle, Sensor, Target
from rig.model.product import Bounds, ProductSpecification
from rig.model.sweeps import Conditions


def sensor_differences(wanted: Sensor, found: Sensor) -> tuple[str, ...]:
    """Say in what a sensor is another than the one wanted.

    Parameters
    ----------
    wanted, found : Sensor
        Sensors; what they are called is of no interest, nor are their limits.

    Returns
    -------
    tuple of str
        Clauses; empty if principle, size, rated distance and output are the same.
    """
    pairs = (
        (wanted.principle.value, found.principle.value),
        (f"of {wanted.size_mm:g} mm", f"of {found.size_mm:g} mm"),
        (
            f"of s_n {wanted.rated_distance_mm:g} mm",
            f"of s_n {found.rated_distance_mm:g} mm",
        ),
        (f"{wanted.output.value}", f"{found.output.value}"),
    )
    return tuple(
        f"the sensor is {is_so}, not {right}"
        for right, is_so in pairs
        if right != is_so
    )


def target_differences(
    wanted: Target, found: Target, principle: Principle
) -> tuple[str, ...]:
    """Say in what a target is another than the one wanted.

    Parameters
    ----------
    wanted : Target
        Target that is wanted; its side is the least that does, None for any.
    found : Target
        Target that was mounted.
    principle : Principle
        How the sensor senses: a plate that is earthed though it should not be matters
        to a capacitive one only.

    Returns
    -------
    tuple of str
        Clauses; empty if it is the one wanted.
    """
    said = []
    if _material(found.material) != _material(wanted.material):
        said.append(f"the target is {found.material}, not {wanted.material}")
    if found.thickness_mm != wanted.thickness_mm:
        said.append(
            f"the target is {found.thickness_mm:g} mm thick, not"
            f" {wanted.thickness_mm:g} mm"
        )
    wall, own = ((one.wall_material.casefold(), one.wall_mm) for one in (wanted, found))
    if own != wall:
        said.append(f"the target stands behind {_wall(found)}, not {_wall(wanted)}")
    if wanted.earthed and not found.earthed:
        said.append("the target is not earthed")
    if found.earthed and not wanted.earthed and principle is Principle.CAPACITIVE:
        said.append("the target is earthed")
    if wanted.side_mm is not None:
        if found.side_mm is None:
            said.append(
                f"the side of the target is not recorded: {wanted.side_mm:g} mm or"
                " more are wanted"
            )
        elif found.side_mm < wanted.side_mm:
            said.append(
                f"the target has a side of {found.side_mm:g} mm, not"
                f" {wanted.side_mm:g} mm or more"
            )
    return tuple(said)


def limited_target_differences(
    sensor: Sensor, target: Target, product: ProductSpecification | None
) -> tuple[str, ...]:
    """Say in what sensor and target differ from those that the limits are for.

    Parameters
    ----------
    sensor : Sensor
        Sensor that was measured.
    target : Target
        Target that was mounted.
    product : ProductSpecification or None
        Product that the sensor should be; None where the standard decides.

    Returns
    -------
    tuple of str
        Clauses; empty if the limits may be held against it.
    """
    if product is None:
        return not_the_standard_target(target, sensor)
    return (
        *sensor_differences(product.sensor, sensor),
        *target_differences(product.target, target, sensor.principle),
    )


def surroundings_differences(
    temperature_c: float | None,
    bench: BenchKnowledge | None,
    product: ProductSpecification | None,
) -> tuple[str, ...]:
    """Say which conditions are not those that the limits are for.

    Parameters
    ----------
    temperature_c : float or None
        Ambient temperature; None if nobody gave it.
    bench : BenchKnowledge or None
        What is declared of the bench, with the supply; None if that is not known.
    product : ProductSpecification or None
        Product that the sensor should be; None where the standard decides.

    Returns
    -------
    tuple of str
        Clauses; empty if the limits may be held against what was measured. A product
        asks for a record of what it limits; without one, what is not known passes.

    Notes
    -----
    Without a product 23 +- 5 degrees Celsius: IEC 60947-5-2, 8.3.2, from memory.
    """
    if product is None:
        low, high = TEMPERATURE_C
        if temperature_c is None or low <= temperature_c <= high:
            return ()
        return (
            f"the temperature was {temperature_c:g} °C, not {low:g} to {high:g} °C",
        )
    said = []
    wanted = product.temperature_c
    if temperature_c is None:
        said.append(f"the temperature is not recorded: {_span(wanted)} °C are wanted")
    elif not wanted.holds(temperature_c):
        said.append(f"the temperature was {temperature_c:g} °C, not {_span(wanted)} °C")
    if product.supply_v is not None:
        said += _supply_differences(bench, product.supply_v)
    return tuple(said)


def why_no_verdict(
    sensor: Sensor,
    target: Target,
    conditions: Sequence[Conditions],
    product: ProductSpecification | None,
) -> tuple[str, ...]:
    """Say why limits may not be held against a run.

    Parameters
    ----------
    sensor : Sensor
        Sensor that was measured.
    target : Target
        Target that was mounted.
    conditions : sequence of Conditions
        All that the run was carried out under.
    product : ProductSpecification or None
        Product that the sensor should be; None where the standard decides.

    Returns
    -------
    tuple of str
        Clauses; empty if they may.
    """
    return (
        *limited_target_differences(sensor, target, product),
        *condition_differences(conditions, product),
    )


def condition_differences(
    conditions: Sequence[Conditions], product: ProductSpecification | None
) -> tuple[str, ...]:
    """Say which of several conditions are not those that the limits are for.

    Parameters
    ----------
    conditions : sequence of Conditions
        All that a run was carried out under.
    product : ProductSpecification or None
        Product that the sensor should be; None where the standard decides.

    Returns
    -------
    tuple of str
        Clauses, each once.
    """
    every = (
        clause
        for one in conditions
        for clause in surroundings_differences(one.ambient_c, one.bench, product)
    )
    return tuple(dict.fromkeys(every))


def _supply_differences(bench: BenchKnowledge | None, wanted: Bounds) -> list[str]:
    known: dict[str, DeclaredValue] = {}
    if bench is not None:
        known = {one.key: one for one in bench.values}
    voltage = known.get(SUPPLY)
    if voltage is None or voltage.source is ValueSource.ASSUMED:
        return [
            f"the supply voltage of the bench is not declared: {_span(wanted)} V are"
            " wanted"
        ]
    # Declared or assumed, the tolerance is on the safe side
    tolerance = known[SUPPLY_TOLERANCE].value / 100.0
    ends = (voltage.value * (1.0 - tolerance), voltage.value * (1.0 + tolerance))
    if all(map(wanted.holds, ends)):
        return []
    return [
        f"the supply was {voltage.value:g} V ± {100.0 * tolerance:g} %, not"
        f" {_span(wanted)} V"
    ]


def _span(bounds: Bounds) -> str:
    return f"{bounds.lower:g} to {bounds.upper:g}"


def _wall(target: Target) -> str:
    return (
        f"{target.wall_mm:g} mm of {target.wall_material}" if target.wall_mm else "none"
    )


def _material(name: str) -> str:
    """Return a material so that spellings of it are the same."""
    return " ".join(name.casefold().split())
