"""The work of each person of a class: rows, sentences and rounded numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.inquiry.class_work import ClassWork, WorkPair
from rig.inquiry.trimmer_setting import AS_IT_CAME, setting_words
from rig.model.rounding import format_figure, round_to_uncertainty, signed
from rig.sheets.run_list_sheet import DASH

_MOST_SHOWN = 8  # readings in a cell; more are counted


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkRow:
    """One target of one person; all text.

    Attributes:
        target: Name of the target, with the setting of the trimmer if it was turned.
        predicted: Prediction with its unit.
        rig: The rig's operate point with its uncertainty, its unit and n.
        off: Prediction less the rig's.
        read: Readings by hand.
        bias: Mean of the readings less the rig's, with its uncertainty.
        simulated: Whether a simulated rig measured.
    """

    target: str
    predicted: str
    rig: str
    off: str
    read: str
    bias: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassWorkSheet:
    """The work of one person; all text.

    Attributes:
        person: Name of the person.
        subject: Sensor and part.
        simulated: Whether a simulated rig measured any of it.
        rows: Targets, in order of the person's first entry.
        sentences: What the readings say, one for each row with two or more.
    """

    person: str
    subject: str
    simulated: bool
    rows: tuple[WorkRow, ...]
    sentences: tuple[str, ...]


def class_work_sheets(found: Sequence[ClassWork]) -> tuple[ClassWorkSheet, ...]:
    """Lay out the work of each person."""
    return tuple(_sheet(one) for one in found)


def _sheet(one: ClassWork) -> ClassWorkSheet:
    return ClassWorkSheet(
        person=one.person,
        subject=f"{one.sensor}, part {one.part}" if one.part else one.sensor,
        simulated=one.simulated,
        rows=tuple(_row(pair) for pair in one.pairs),
        sentences=tuple(
            f"{_name(pair)}: {pair.beside.sentence}."
            for pair in one.pairs
            if pair.beside is not None
        ),
    )


def _name(pair: WorkPair) -> str:
    if pair.setting == AS_IT_CAME:
        return pair.target
    return f"{pair.target}, {setting_words(pair.setting)}"


def _row(pair: WorkPair) -> WorkRow:
    rig, predicted = pair.rig, pair.predicted_mm
    operate = None if rig is None else rig.figures.operate
    bias = DASH
    if pair.beside is not None:
        figure = pair.beside.bias
        value, size = round_to_uncertainty(
            figure.value, figure.expanded_uncertainty or 0.0
        )
        bias = f"({signed(value)} ± {size}) mm"
    off = DASH
    if operate is not None and predicted is not None:
        off = f"{predicted - operate.value:+.2f} mm"
    return WorkRow(
        target=_name(pair),
        predicted=DASH if predicted is None else f"{predicted:g} mm",
        rig="not measured" if operate is None else str(format_figure(operate)),
        off=off,
        read=_readings(pair.read_mm),
        bias=bias,
        simulated=pair.simulated,
    )


def _readings(read_mm: Sequence[float]) -> str:
    if not read_mm:
        return DASH
    shown = "; ".join(f"{value_mm:g}" for value_mm in read_mm[:_MOST_SHOWN])
    more = "; …" if len(read_mm) > _MOST_SHOWN else ""
    return f"{shown}{more} mm, n = {len(read_mm)}"
