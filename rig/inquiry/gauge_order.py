"""Which study of a gauge is wanted, of which readings; and its result."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from rig.errors import InputError
from rig.inquiry.gauge_readings import GaugeReadings
from rig.inquiry.gauge_record import (
    RecordChoice,
    mean_of_runs,
    ratings_on_record,
    readings_of_study,
    readings_on_record,
)
from rig.inquiry.gauge_study import (
    GaugeResult,
    agreement_of,
    components_of,
    linearity_of,
    single_gauge_of,
    stability_of,
)
from rig.inquiry.gauge_tables import (
    category_table,
    ratings_of_table,
    readings_of_table,
    reference_table,
)
from rig.records import Store


class GaugeKind(StrEnum):
    """What is asked of readings of a gauge."""

    COMPONENTS = "components"
    AGREEMENT = "agreement"
    LINEARITY = "linearity"
    STABILITY = "stability"
    SINGLE = "single"


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeOrder:
    """A study of a gauge that is wanted.

    Attributes:
        kind: What is asked.
        source: A table of readings, a choice of those on record, or the identity of a
            study on record, for components.
        nested: Whether parts of one name are others for each appraiser.
        reference: Reference value of the one part, in the unit of the readings.
        tolerance: Upper minus lower limit, in that unit.
        references: Table of the reference values or categories of parts.
        confidence: Confidence of the intervals, 0 to 1.
    """

    kind: GaugeKind
    source: Path | RecordChoice | str
    nested: bool = False
    reference: float | None = None
    tolerance: float | None = None
    references: Path | None = None
    confidence: float = 0.95


def gauge_result(order: GaugeOrder, store: Store | None) -> GaugeResult:
    """Work a study of a gauge out.

    Args:
        order: What is wanted.
        store: Open records; None for a table, which needs none.

    Raises:
        InputError: The readings do not make such a study, or something is missing.
        RecordsError: The records cannot be read, or the study is not there.
    """
    if order.kind is GaugeKind.AGREEMENT:
        right = {} if order.references is None else category_table(order.references)
        return agreement_of(
            _ratings(order, store), references=right, confidence=order.confidence
        )
    if order.kind is GaugeKind.SINGLE:
        return _single(order, store)
    if order.kind is GaugeKind.LINEARITY:
        return _linearity(order, store)
    if order.kind is GaugeKind.STABILITY:
        return stability_of(
            _readings(order, store, ()),
            reference=order.reference,
            confidence=order.confidence,
        )
    return components_of(
        _readings(order, store, ("part", "appraiser")),
        nested=order.nested,
        tolerance=order.tolerance,
        confidence=order.confidence,
    )


def _single(order: GaugeOrder, store: Store | None) -> GaugeResult:
    if order.reference is None or order.tolerance is None:
        raise InputError(
            "a single-gauge study needs the reference value of its part and a tolerance"
        )
    return single_gauge_of(
        _readings(order, store, ()),
        reference=order.reference,
        tolerance=order.tolerance,
        confidence=order.confidence,
    )


def _linearity(order: GaugeOrder, store: Store | None) -> GaugeResult:
    source, known = order.source, {}
    if isinstance(source, RecordChoice) and order.references is None:
        if not source.by_hand:
            raise InputError(
                "the runs have no reference values",
                hint="give them in a table: part,reference,unit",
            )
        assert store is not None, "a choice is made from the records"
        known = mean_of_runs(store, source)
    columns = ("part", "reference") if order.references is None else ("part",)
    readings = _readings(order, store, columns)
    if order.references is not None:
        known = reference_table(order.references, readings.unit)
    return linearity_of(readings, references=known, confidence=order.confidence)


def _readings(
    order: GaugeOrder, store: Store | None, columns: tuple[str, ...]
) -> GaugeReadings[float]:
    if isinstance(order.source, Path):
        return readings_of_table(order.source, columns)
    assert store is not None, "what is no table is on record"
    if isinstance(order.source, RecordChoice):
        return readings_on_record(store, order.source)
    return readings_of_study(store, order.source)


def _ratings(order: GaugeOrder, store: Store | None) -> GaugeReadings[str]:
    if isinstance(order.source, Path):
        return ratings_of_table(order.source)
    if not isinstance(order.source, RecordChoice):
        raise InputError("a study on record has readings, and no ratings")
    assert store is not None, "a choice is made from the records"
    return ratings_on_record(store, order.source)
