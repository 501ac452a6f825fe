"""A series: targets of a plan in several thicknesses, all else alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from rig.errors import InputError
from rig.model.mounted import Target

# What a series may vary, and how a target of it is called
SERIES = {"thickness_mm": "{name} {value:g} mm", "wall_mm": "{name} wall {value:g} mm"}


def varied(
    targets: Sequence[Target],
    values: Mapping[str, Sequence[float]],
    spots: Mapping[str, str],
) -> list[Target]:
    """Return every target with each value of the series; as they are without one.

    Args:
        targets: Targets as the catalogue has them.
        values: Values by field of `SERIES`; empty where that field is not varied.
        spots: Where each field stands, in words.

    Raises:
        InputError: Two things are varied at once, a value stands twice, or a plate is
            to have a wall.
    """
    given = [field for field in SERIES if values[field]]
    if not given:
        return list(targets)
    if len(given) > 1:
        raise InputError(
            f"{spots[given[1]]} varies a second thing beside {given[0]}",
            hint="a series varies one thing: make a run of each",
        )
    (field,) = given
    if len(set(values[field])) < len(values[field]):
        raise InputError(f"{spots[field]} has a value twice")
    plates = [one.name for one in targets if not one.wall_material]
    if field == "wall_mm" and plates:
        raise InputError(
            f"{spots[field]}: {plates[0]} is a plate and has no wall",
            hint="name cells as targets, or vary thickness_mm",
        )
    return [_one(target, field, value) for target in targets for value in values[field]]


def _one(target: Target, field: str, value: float) -> Target:
    name = SERIES[field].format(name=target.name, value=value)
    if field == "wall_mm":
        return replace(target, name=name, wall_mm=value)
    return replace(target, name=name, thickness_mm=value)
