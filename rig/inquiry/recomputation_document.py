"""Figures worked out again as the JSON document that `recompute` prints."""

from __future__ import annotations

from dataclasses import dataclass, make_dataclass

from rig.inquiry.recomputation import RecomputedRun
from rig.model.figure_kinds import FIGURE_KINDS
from rig.model.figures import Figure

# A run with each figure under its key, null where it does not apply
RecomputedDocument = make_dataclass(
    "RecomputedDocument",
    [
        ("run_id", str),
        ("simulated", bool),
        *((kind.key, Figure | None) for kind in FIGURE_KINDS),
        ("warnings", tuple[str, ...]),
        ("analysis_version", str),
    ],
    frozen=True,
    kw_only=True,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecomputationDocument:
    """Every run with new figures, in order of identity."""

    runs: tuple[RecomputedDocument, ...]  # type: ignore[valid-type]


def recomputed_document(run: RecomputedRun) -> object:
    """Return one run of the document."""
    figures = run.figures
    return RecomputedDocument(
        run_id=run.run_id,
        simulated=run.simulated,
        **{kind.key: getattr(figures, kind.field) for kind in FIGURE_KINDS},
        warnings=figures.warnings,
        analysis_version=figures.analysis_version,
    )
