"""Declared benches in rows and words."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.declared_bench import DeclaredBench, DeclaredBenches
from rig.model.bench_declaration import DeclaredValue
from rig.sheets.bench_words import item_number, utc

HEAD = ("key", "what it is", "number", "source", "why")


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSheet:
    """One bench; all text.

    Attributes:
        lead: Name of the rig, and whether its bench is declared.
        rows: Key, what it is, number, source and why, for every item.
        not_included: What no budget includes, as a sentence.
    """

    lead: str
    rows: tuple[tuple[str, ...], ...]
    not_included: str


def bench_sheet(found: DeclaredBench) -> BenchSheet:
    """Put a bench into words."""
    return BenchSheet(
        lead=_lead(found),
        rows=tuple(
            (
                row.key,
                f"{row.words} ({row.form})",
                item_number(DeclaredValue(row.key, row.value, row.source)),
                row.source.value,
                row.reason,
            )
            for row in found.items
        ),
        not_included=f"Not included: {'; '.join(found.not_included)}.",
    )


def bench_sheets(found: DeclaredBenches) -> tuple[BenchSheet, ...]:
    """Put every bench into words."""
    return tuple(bench_sheet(one) for one in found.benches)


def _lead(found: DeclaredBench) -> str:
    rig = "Any rig" if found.rig_id is None else f"Rig {found.rig_id}"
    if found.entered_at is None:
        return (
            f"{rig}: nothing is declared, so all is assumed; `gapsweep bench set`"
            " declares it."
        )
    by = f" by {found.author}" if found.author else ""
    screw = f"; screw of class {found.screw_class}" if found.screw_class else ""
    return f"{rig}: declared {utc(found.entered_at)}{by}{screw}."
