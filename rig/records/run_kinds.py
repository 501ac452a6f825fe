"""Which runs measured the same thing: sensor, target and product, read once each."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, func, select

from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.records.decoding import decodes
from rig.records.mapping import conditions_of, product_of, sensor_of, target_of
from rig.records.plain_rows import streamed_rows
from rig.records.schema import run_conditions, runs
from rig.records.store import Store

# As `Conditions.ambient_c` looks for it
_TEMPERATURES = ("temperature_c", "measured_temperature_c")
_Texts = tuple[str, str, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunKind:
    """Runs of one sensor against one target, for one product.

    Attributes:
        sensor: What was measured.
        target: Against what.
        product: Product that they were made for; None for none.
        ambient_c: Ambient temperature by run, °C; None where it is not known.
        resumed: Those of them that were resumed under other conditions.
    """

    sensor: Sensor
    target: Target
    product: ProductVersion | None
    ambient_c: dict[str, float | None]
    resumed: frozenset[str]


def run_kinds(store: Store) -> tuple[RunKind, ...]:
    """Return all runs that are not void, by what they measured.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        later = select(run_conditions.c.run_id).distinct()
        resumed = frozenset(connection.scalars(later))
        found = _by_texts(connection)
    return tuple(_kind(texts, runs, resumed) for texts, runs in found.items())


@decodes("a run")
def _by_texts(connection: Connection) -> dict[_Texts, dict[str, float | None]]:
    """Return ambient temperatures by sensor, target and product as they are kept."""
    whole = connection.dialect.name != "sqlite"
    ambient: ColumnElement[Any] = runs.c.conditions
    if not whole:
        # To pick a number out of the text is faster than to bring it all here
        ambient = func.coalesce(
            *(func.json_extract(ambient, f"$.{name}") for name in _TEMPERATURES)
        )
    query = select(
        runs.c.run_id, runs.c.sensor, runs.c.target, runs.c.product, ambient
    ).where(runs.c.void == "")
    found: defaultdict[_Texts, dict[str, float | None]] = defaultdict(dict)
    for run_id, sensor, target, product, kept in streamed_rows(connection, query):
        ambient_c = conditions_of(kept).ambient_c if whole else kept
        found[sensor, target, product][run_id] = ambient_c
    return found


def _kind(
    texts: _Texts,
    ambient_c: dict[str, float | None],
    resumed: frozenset[str],
) -> RunKind:
    sensor, target, product = texts
    return RunKind(
        sensor=sensor_of(sensor),
        target=target_of(target),
        product=product_of(product),
        ambient_c=ambient_c,
        resumed=resumed.intersection(ambient_c),
    )
