"""What somebody declared of a bench, and what a run therefore rests on."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final, NamedTuple

from rig.errors import InputError
from rig.model.bench_items import (
    BENCH_ITEMS,
    ITEM_OF_KEY,
    LINEAR,
    PERIODIC,
    SCREW_CLASS,
    BenchItem,
)


class ValueSource(StrEnum):
    """Where a declared number comes from."""

    CERTIFICATE = "certificate"
    MEASURED = "measured"
    MAKER = "maker"
    ASSUMED = "assumed"


class DeclaredValue(NamedTuple):
    """One number; a tuple, so that it is kept in few characters.

    Attributes:
        key: Key of the item, see `bench_items`.
        value: Number in the unit of the item.
        source: Where it comes from.
    """

    key: str
    value: float
    source: ValueSource


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewClass:
    """An accuracy class of screws.

    Attributes:
        name: Standard and class.
        travel_um: Variation over 300 mm of travel, µm.
        turn_um: Variation within a turn, µm; None where the class does not limit it.
    """

    name: str
    travel_um: float
    turn_um: float | None


# From memory of ISO 3408-3 (v300p and v2pi) and JIS B 1192; neither was opened
SCREW_CLASSES: Final = (
    ScrewClass(name="ISO 3408-3 P0", travel_um=4.0, turn_um=3.0),
    ScrewClass(name="ISO 3408-3 P1", travel_um=6.0, turn_um=4.0),
    ScrewClass(name="ISO 3408-3 P3", travel_um=12.0, turn_um=6.0),
    ScrewClass(name="ISO 3408-3 P5", travel_um=23.0, turn_um=8.0),
    ScrewClass(name="ISO 3408-3 T7", travel_um=52.0, turn_um=None),
    ScrewClass(name="ISO 3408-3 T10", travel_um=210.0, turn_um=None),
    ScrewClass(name="JIS B 1192 C0", travel_um=3.5, turn_um=3.0),
    ScrewClass(name="JIS B 1192 C1", travel_um=5.0, turn_um=4.0),
    ScrewClass(name="JIS B 1192 C3", travel_um=8.0, turn_um=6.0),
    ScrewClass(name="JIS B 1192 C5", travel_um=18.0, turn_um=8.0),
    ScrewClass(name="JIS B 1192 C7", travel_um=50.0, turn_um=None),
    ScrewClass(name="JIS B 1192 C10", travel_um=210.0, turn_um=None),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchDeclaration:
    """What is declared of the bench of one rig; what is not stays assumed.

    Attributes:
        screw_class: Name of the accuracy class of the screw; empty for none.
        screw_class_source: Where the class comes from.
        values: Declared numbers, no key twice.
    """

    screw_class: str = ""
    screw_class_source: ValueSource = ValueSource.ASSUMED
    values: tuple[DeclaredValue, ...] = ()

    def changed(self, other: BenchDeclaration) -> BenchDeclaration:
        """Return this declaration with what another one says put in its place."""
        found = {value.key: value for value in (*self.values, *other.values)}
        newer = other if other.screw_class else self
        return BenchDeclaration(
            screw_class=newer.screw_class,
            screw_class_source=newer.screw_class_source,
            values=tuple(found[i.key] for i in BENCH_ITEMS if i.key in found),
        )

    def without(self, keys: Collection[str]) -> BenchDeclaration:
        """Return this declaration without some items; they are assumed again.

        `SCREW_CLASS` among them takes the class of the screw back.
        """
        kept = tuple(value for value in self.values if value.key not in keys)
        if SCREW_CLASS in keys:
            return BenchDeclaration(values=kept)
        return replace(self, values=kept)


NOTHING_DECLARED: Final = BenchDeclaration()


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchKnowledge:
    """What a run rests on besides what it measures: every item with its number.

    Attributes:
        declared: Whether anything was declared of the bench.
        touch_speed_mm_s: Speed of the touches that made datum and backlash.
        values: One for each item, in the order of `BENCH_ITEMS` at that time.
    """

    declared: bool
    touch_speed_mm_s: float
    values: tuple[DeclaredValue, ...]


def bench_item(key: str) -> BenchItem:
    """Return the item of that key.

    Raises:
        InputError: There is no such item.
    """
    item = ITEM_OF_KEY.get(key)
    if item is None:
        raise InputError(
            f"there is no item {key!r} of a bench",
            hint="`gapsweep bench show` lists them",
        )
    return item


def declared_value(key: str, value: float, source: ValueSource) -> DeclaredValue:
    """Return a number for an item.

    Raises:
        InputError: There is no such item, or the number is not possible.
    """
    item = bench_item(key)
    if not (math.isfinite(value) and item.least <= value <= item.largest):
        raise InputError(
            f"{key} is {value:g}: give {item.least:g} to {item.largest:g} {item.unit}"
        )
    return DeclaredValue(key, float(value), source)


def screw_class(name: str) -> ScrewClass:
    """Return the accuracy class of that name; the class alone is enough.

    Raises:
        InputError: There is no such class.
    """
    wanted = name.strip().upper()
    for known in SCREW_CLASSES:
        if wanted in (known.name.upper(), known.name.upper().rpartition(" ")[2]):
            return known
    raise InputError(
        f"there is no accuracy class {name!r} of screws",
        hint=f"give one of: {', '.join(known.name for known in SCREW_CLASSES)}",
    )


def knowledge_of(
    declaration: BenchDeclaration, *, touch_speed_mm_s: float, scale: bool = False
) -> BenchKnowledge:
    """Return what a run rests on: what is declared, and what is assumed otherwise.

    A number of its own stands before that of the class of the screw.

    Args:
        declaration: What is declared of the bench.
        touch_speed_mm_s: Speed of the touches.
        scale: Whether places come from a linear scale.
    """

    def counts(value: DeclaredValue) -> bool:
        item = ITEM_OF_KEY[value.key]
        return item.in_runs and (scale or not item.of_scale)

    return BenchKnowledge(
        declared=bool(declaration.screw_class)
        or any(counts(value) for value in declaration.values),
        touch_speed_mm_s=touch_speed_mm_s,
        values=tuple(value for value in item_values(declaration) if counts(value)),
    )


def item_values(declaration: BenchDeclaration) -> tuple[DeclaredValue, ...]:
    """Return the number of every item, declared or assumed."""
    found = {value.key: value for value in _of_class(declaration)}
    found |= {value.key: value for value in declaration.values}
    return tuple(found.get(item.key) or _assumed(item) for item in BENCH_ITEMS)


def declared_number(declaration: BenchDeclaration, key: str) -> float:
    """Return the number of one item, declared or assumed, in its unit."""
    (found,) = (each for each in item_values(declaration) if each.key == key)
    return found.value


def _assumed(item: BenchItem) -> DeclaredValue:
    return DeclaredValue(item.key, item.assumed, ValueSource.ASSUMED)


def _of_class(declaration: BenchDeclaration) -> Iterable[DeclaredValue]:
    """Yield what the class of the screw says.

    The variation within a turn is a width, so its half bounds the amplitude; that over
    300 mm bounds the slope, though over a part of it a screw may be steeper.
    """
    if not declaration.screw_class:
        return
    known, source = screw_class(declaration.screw_class), declaration.screw_class_source
    yield DeclaredValue(LINEAR, known.travel_um / 300.0, source)
    if known.turn_um is not None:
        yield DeclaredValue(PERIODIC, 0.5 * known.turn_um, source)
