"""What a certificate says of the thing that it is about; one form for all kinds."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.limits.verdict import GRAVITY, Decision
from rig.sheets.bench_words import Pairs
from rig.sheets.signs import VERDICT_SIGNS

NO_CELL = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultRow:
    """One result; all text.

    Attributes:
        name: What it is.
        value: Value with its unit and expanded uncertainty.
        basis: Coverage factor and number of readings, or why there is no uncertainty.
        limits: What it is held against, with the source; a dash for nothing.
        decision: Verdict with its sign; a dash for none.
    """

    name: str
    value: str
    basis: str
    limits: str = NO_CELL
    decision: str = NO_CELL


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateMatter:
    """What a certificate says of the thing that it is about.

    Attributes:
        title: Usual title of such a certificate.
        item: What was measured, so that nobody takes another for it.
        method: How it was measured and judged.
        measured: When it was measured.
        verdict: Verdict on the whole, in a word or two.
        sign: Sign that goes before the verdict.
        about: What the verdict is about and why, as sentences.
        rows: Results, the weightiest first.
        conditions: Conditions and traceability.
        statements: Sentences that go with the results, the weightiest first.
        measured_by: Who measured.
        signatures: Signatures on record, a sentence each.
        more: Where results and sentences stand that do not fit.
        simulated: What a simulated rig made of it, as a sentence; empty for nothing.
    """

    title: str
    item: Pairs
    method: Pairs
    measured: str
    verdict: str
    sign: str
    about: tuple[str, ...]
    rows: tuple[ResultRow, ...]
    conditions: Pairs
    statements: tuple[str, ...]
    measured_by: str
    signatures: tuple[str, ...]
    more: str
    simulated: str


def gravest(decisions: tuple[Decision, ...]) -> tuple[str, str]:
    """Return the gravest verdict and its sign; no verdict for none."""
    tested = [one for one in decisions if one is not Decision.NOT_TESTED]
    if not tested:
        return "no verdict", NO_CELL
    found = min(tested, key=GRAVITY.__getitem__)
    return found.value, VERDICT_SIGNS[found]
