"""Declared benches in rows and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from rig.inquiry.bench_effect import NEWEST_RUNS
from rig.inquiry.declared_bench import DeclaredBench, DeclaredBenches
from rig.model.bench_declaration import DeclaredValue, ValueSource
from rig.model.bench_items import SCREW_CLASS
from rig.model.rounding import format_figure
from rig.sheets.bench_words import item_number, utc
from rig.sheets.figure_rows import share_words

HEAD: Final = ("key", "what it is", "number", "source", "why")
_CLASS_SAYS_SO: Final = "by the accuracy class of the screw"
_LARGEST: Final = 3  # causes that are named
_BEFORE_IT: Final = (
    " That run is from before this declaration: what is declared now counts from the"
    " next run on."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSheet:
    """One bench; all text.

    Attributes:
        rig_id: Identity of the rig; empty for any rig.
        lead: Name of the rig, and whether its bench is declared.
        effect: What that does to the ± of the newest run.
        rows: Key, what it is, number, source and why, for the class of the screw and
            every item.
        not_included: What no budget includes, as a sentence.
    """

    rig_id: str
    lead: str
    effect: str
    rows: tuple[tuple[str, ...], ...]
    not_included: str


def bench_sheet(found: DeclaredBench) -> BenchSheet:
    """Put a bench into words."""
    return BenchSheet(
        rig_id=found.rig_id or "",
        lead=_lead(found),
        effect=_effect_words(found),
        rows=(
            _class_row(found),
            *(
                (
                    row.key,
                    f"{row.words} ({row.form})",
                    item_number(DeclaredValue(row.key, row.value, row.source)),
                    row.source.value,
                    _CLASS_SAYS_SO if row.by_class else row.reason,
                )
                for row in found.items
            ),
        ),
        not_included=f"Not included: {'; '.join(found.not_included)}.",
    )


def bench_sheets(found: DeclaredBenches) -> tuple[BenchSheet, ...]:
    """Put every bench into words."""
    return tuple(bench_sheet(one) for one in found.benches)


def _class_row(found: DeclaredBench) -> tuple[str, ...]:
    source = found.screw_class_source or ValueSource.ASSUMED
    return (
        SCREW_CLASS,
        "accuracy class of the screw (ISO 3408-3 or JIS B 1192)",
        found.screw_class or "none",
        source.value,
        "" if found.screw_class else "no class limits the errors of the screw",
    )


def _lead(found: DeclaredBench) -> str:
    rig = "Any rig" if found.rig_id is None else f"Rig {found.rig_id}"
    if found.entered_at is None:
        return (
            f"{rig}: nothing is declared, so all is assumed; `gapsweep bench set`"
            " declares it."
        )
    by = f" by {found.author}" if found.author else ""
    when = f"{utc(found.entered_at)}{by}"
    if not found.declared:
        return f"{rig}: left undeclared {when}, so all is assumed."
    screw = f"; screw of class {found.screw_class}" if found.screw_class else ""
    return f"{rig}: declared {when}{screw}."


def _effect_words(found: DeclaredBench) -> str:
    effect = found.effect
    if effect is None:
        return (
            "What it does to the ±: unknown; no run of this rig with a ± is among the"
            f" newest {NEWEST_RUNS} on record."
        )
    simulated = " (SIMULATED)" if effect.simulated else ""
    run = (
        f"What it does to the ±: run {effect.run_id}{simulated} has an operate point of"
        f" {format_figure(effect.operate)}"
    )
    later = ""
    declared_at = found.entered_at if found.declared else None
    if declared_at is not None and effect.started_at < declared_at:
        later = _BEFORE_IT
    if not effect.assumed:
        return f"{run}; none of its variance was assumed.{later}"
    largest = "; ".join(
        f"{one.cause} {share_words(one.share_percent)}"
        for one in effect.assumed[:_LARGEST]
    )
    return (
        f"{run}; of its variance {share_words(effect.assumed_percent)} was assumed, the"
        f" largest causes: {largest}.{later}"
    )
