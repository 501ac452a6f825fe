"""What a certificate says of a lot that is decided."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.limits.verdict import Decision
from rig.inquiry.lot_evidence import LotEvidence
from rig.sheets.bench_words import NOT_RECORDED, Pairs, utc
from rig.sheets.certificate_matter import (
    NO_CELL,
    CertificateMatter,
    ResultRow,
)
from rig.sheets.interval_rows import IntervalRow
from rig.sheets.lot_part_rows import LotPartRow
from rig.sheets.lot_sheet import LotSheet, lot_sheet

TITLE = "Inspection certificate"
# Terms that stand below the results, where there is room
_BELOW = ("Repeats of a part", "Risk of the repeats")
_UNCERTAINTY = (
    "± is the expanded uncertainty for about 95 % coverage (JCGM 100); the sample's"
    " figures have confidence intervals"
)


def matter_of_lot(found: LotEvidence) -> CertificateMatter:
    """Say what a certificate says of a decided lot."""
    sheet = lot_sheet(found)
    head, lot = sheet.head, found.standing.lot
    odd = [row for row in head.parts if row.decision != Decision.CONFORMS.value]
    moments = [part.entered_at for part in found.standing.parts]
    return CertificateMatter(
        title=TITLE,
        item=(
            ("Lot", f"{lot.lot_id}, {head.size}"),
            ("Product", lot.product),
            ("Supplier", lot.supplier or NOT_RECORDED),
            *((name, words) for name, words in _sensors(sheet)),
        ),
        method=_method(sheet),
        measured=" to ".join(dict.fromkeys((utc(min(moments)), utc(max(moments)))))
        if moments
        else NOT_RECORDED,
        verdict=f"lot {head.outcome.word}",
        sign=head.outcome.sign,
        about=(
            f"{head.outcome.sentence} {head.outcome.decided}",
            f"Sample: {head.progress}; {head.counts}.",
        ),
        rows=(*map(_part, odd), *map(_figure, sheet.figures)),
        conditions=_conditions(sheet),
        statements=(
            *_again(sheet),
            *sheet.statements,
            *(f"{name}: {value}" for name, value in sheet.terms if name in _BELOW),
        ),
        measured_by=lot.operator or NOT_RECORDED,
        signatures=head.signatures,
        more="the report of the lot",
        simulated=_simulated(sheet),
    )


def _again(sheet: LotSheet) -> tuple[str, ...]:
    """Say which readings do not count: those that failed come first."""
    failed = [one for one in sheet.earlier if Decision.DOES_NOT_CONFORM.value in one]
    return (*failed, *(one for one in sheet.earlier if one not in failed))


def _sensors(sheet: LotSheet) -> Pairs:
    if sheet.runs is None:
        return ()
    return (
        ("Sensor", "; ".join(sheet.runs.sensors)),
        ("Target", "; ".join(sheet.runs.targets)),
    )


def _method(sheet: LotSheet) -> Pairs:
    plan = sheet.head.plan
    return (
        ("Sampling plan", f"{plan.method}; {plan.plan}; {plan.sample} ({plan.source})"),
        ("Uncertainty", f"{_UNCERTAINTY}."),
        *_merged([one for one in sheet.terms if one[0] not in _BELOW]),
    )


def _merged(pairs: Sequence[tuple[str, str]]) -> Pairs:
    """Put what has one name into one line."""
    found: dict[str, list[str]] = {}
    for name, value in pairs:
        found.setdefault(name, []).append(value)
    return tuple((name, "; ".join(values)) for name, values in found.items())


def _figure(row: IntervalRow) -> ResultRow:
    unit = f" {row.unit}" if row.unit else ""
    basis = f"n = {row.n}"
    if row.confidence:
        basis = f"{row.interval}{unit} at {row.confidence}, {basis}"
    value = row.value if row.value == NO_CELL else f"{row.value}{unit}"
    return ResultRow(name=f"{row.name} of the sample", value=value, basis=basis)


def _part(row: LotPartRow) -> ResultRow:
    return ResultRow(
        name=f"part {row.part}",
        value=row.text,
        basis=row.reason,
        limits=NO_CELL,
        decision=f"{row.sign} {row.decision}",
    )


def _conditions(sheet: LotSheet) -> Pairs:
    if sheet.runs is None:
        return (("Evidence", "entered by hand: no run is behind these parts"),)
    known = dict((*sheet.runs.conditions, *sheet.runs.bench))
    names = ("Temperature", "Rig", "Calibration of the axis")
    states = "; ".join(dict.fromkeys(row.state for row in sheet.runs.rows))
    return (
        *((name, known[name]) for name in names if name in known),
        ("Evidence", f"{len(sheet.runs.rows)} runs; raw edges {states}"),
    )


def _simulated(sheet: LotSheet) -> str:
    made, total = sheet.head.simulated, len(sheet.head.parts)
    if not made:
        return ""
    if made == total:
        return "No sensor was measured: a simulated rig made every part."
    return f"A simulated rig made {made} of {total} parts."
