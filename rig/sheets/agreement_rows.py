"""Attribute agreement in rows and words."""

from __future__ import annotations

from rig.analysis.study.agreement import Agreement, Kappa, MatchedShare
from rig.inquiry.gauge_study import AgreementResult
from rig.model.rounding import format_decimals
from rig.sheets.gauge_matter import GaugeMatter, SheetTable
from rig.sheets.interval_rows import IntervalRow, bare_row, interval_row

_NO_KAPPA = "none: all ratings are of one category"


def agreement_matter(result: AgreementResult) -> GaugeMatter:
    """Lay the agreement out."""
    found = result.study
    figures = [] if found.between is None else [_kappa(found.between, "Fleiss' kappa")]
    figures += [
        _kappa(one, "Fleiss' kappa", "this category against all others")
        for one in found.by_category
    ]
    figures += [
        _kappa(one, "Fleiss' kappa", "repeated ratings of one appraiser")
        for one in found.within
    ]
    figures += [_kappa(one, "Cohen's kappa") for one in found.pairs]
    figures += [
        _kappa(one, "Cohen's kappa", "against the reference")
        for one in found.against_reference
    ]
    return GaugeMatter(
        kind="Attribute agreement",
        lead=f"{len(found.parts)} parts, {len(found.appraisers)} appraisers,"
        f" categories {', '.join(found.categories)}: n = {found.ratings} ratings.",
        figures=tuple(figures),
        tables=_tables(found),
        methods=(
            "Kappa: 1 for full agreement, 0 for that of chance, below 0 for less."
            " Several ratings of a part by one appraiser are each held against each"
            " of another's.",
            "Intervals of kappas are those of large samples, the parts as what was"
            " drawn; those of shares are exact (Clopper and Pearson).",
        ),
        drawn="Parts rated alike every time, or as the reference every time: share"
        " with its interval.",
        statements=_statements(found),
    )


def _kappa(one: Kappa, name: str, meaning: str = "") -> IntervalRow:
    whole = f"{name}, {one.name}"
    if one.value is None or one.interval is None:
        return bare_row(whole, meaning, "–", unit="1", why_none=_NO_KAPPA, n=one.parts)
    return interval_row(whole, meaning, one.value, one.interval, unit="1", n=one.parts)


def share_rows(found: Agreement) -> tuple[tuple[str, MatchedShare], ...]:
    """Return every share of parts that match, with what they match."""
    rows = [("alike every time", one) for one in found.within_share]
    if found.between_share is not None:
        rows.append(("alike every time", found.between_share))
    rows += [("as the reference every time", one) for one in found.reference_share]
    return tuple(rows)


def _tables(found: Agreement) -> tuple[SheetTable, ...]:
    shares = SheetTable(
        caption="Parts that were rated alike every time, or as the reference",
        head=("appraiser", "rated", "matched", "of", "share", "interval"),
        rows=tuple(
            (
                one.name,
                what,
                str(one.matched),
                str(one.parts),
                _percent(one.matched / one.parts),
                f"{_percent(one.interval.lower)} to {_percent(one.interval.upper)}",
            )
            for what, one in share_rows(found)
        ),
    )
    if not found.counts:
        return (shares,)
    counts = SheetTable(
        caption="Number of ratings by category of the reference",
        head=("appraiser", "reference", *(f"rated {c}" for c in found.categories)),
        rows=tuple(
            (
                one.appraiser,
                one.reference,
                *(str(one.counts[category]) for category in found.categories),
            )
            for one in found.counts
        ),
    )
    return shares, counts


def _percent(share: float) -> str:
    return f"{format_decimals(100.0 * share, 1)} %"


def _statements(found: Agreement) -> tuple[str, ...]:
    said = []
    if len(found.parts) < 30:
        said.append(
            f"{len(found.parts)} parts leave wide intervals; common practice asks for"
            " 50."
        )
    if len(found.categories) < 2:
        said.append("All ratings are of one category: agreement shows nothing.")
    return tuple(said)
