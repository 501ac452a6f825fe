"""Lots as plain text: their sheets, laid out for a terminal."""

from __future__ import annotations

from typing import Final

from rig.cli.text.table import SIMULATED, table
from rig.cli.text.trail_text import entry_lines
from rig.sheets.lot_curve_sheet import LotCurveSheet
from rig.sheets.lot_outcome_sheet import LotDecisionSheet, LotOutcome
from rig.sheets.lot_part_rows import NO_VALUE, LotPartRow
from rig.sheets.lot_plan_rows import LotPlanWords
from rig.sheets.lot_sheet import LotHead, LotSheet

_TURNED: Final = "failed parts inspected again"


def lots_text(heads: tuple[LotHead, ...]) -> str:
    """Return every lot in a row."""
    rows = [
        [
            head.lot_id,
            head.name,
            head.size,
            f"{head.outcome.sign} {head.outcome.word}",
            head.progress,
            _TURNED if head.turned else "",
            SIMULATED if head.simulated else "",
        ]
        for head in heads
    ]
    columns = ["lot", "product", "size", "decision", "inspected", "", ""]
    return table(columns, rows)


def begun_text(head: LotHead, chances: tuple[str, ...]) -> str:
    """Return what to inspect of a lot that was begun, and how likely it is accepted."""
    return "\n".join(
        [
            f"lot {head.lot_id}: {head.size} of {head.name}",
            *_plan_lines(head.plan),
            f"Switching rules: {head.switching}",
            *chances,
            f"next: gapsweep lot part {head.lot_id} NUMBER --rig PORT",
        ]
    )


def part_text(row: LotPartRow, head: LotHead) -> str:
    """Return the verdict on a part with its reasons, and what the parts settle."""
    return "\n".join(
        [
            *([SIMULATED] if row.simulated else []),
            f"part {row.part}: {row.verdict}",
            *(f"  {reason}" for reason in row.reasons),
            *([f"Decision rule: {row.rule}."] if row.rule else []),
            f"{head.progress}: {head.counts}",
            *([head.turned] if head.turned else []),
            head.outcome.sentence,
        ]
    )


def lot_text(sheet: LotSheet) -> str:
    """Return a lot with its terms, its parts and the decision."""
    head = sheet.head
    rows = [
        [row.part, row.verdict, _result(row), row.run_id or "by hand"]
        for row in head.parts
    ]
    return "\n".join(
        [
            *([SIMULATED] if head.simulated else []),
            f"lot {head.lot_id}: {head.size} of {head.name}",
            *_plan_lines(head.plan),
            *(f"{name}: {words}" for name, words in sheet.terms),
            table(["part", "verdict", "value ± U (95 %)", "run"], rows),
            f"{head.progress}: {head.counts}",
            *(f"Earlier reading: {one}" for one in sheet.earlier),
            *(f"Note: {words}" for words in sheet.statements),
            *_outcome_lines(head.outcome),
            *head.signatures,
            "Trail of the lot:",
            *(line for row in sheet.trail for line in entry_lines(row)),
            *sheet.chain,
        ]
    )


def _result(row: LotPartRow) -> str:
    """Return the value, or what was seen where none was measured."""
    return f"{row.text}: {row.reason}" if row.value == NO_VALUE else row.text


def decision_text(sheet: LotDecisionSheet) -> str:
    """Return a decision with what follows for the next lot."""
    return "\n".join(
        [
            *([SIMULATED] if sheet.simulated else []),
            *_outcome_lines(sheet.outcome),
            *(f"Note: {words}" for words in sheet.statements),
        ]
    )


def curve_text(sheet: LotCurveSheet) -> str:
    """Return points of an operating characteristic and what they mean."""
    rows = [
        [
            *(row.share, row.acceptance, row.as_inspected),
            *([row.outgoing] if row.outgoing else []),
        ]
        for row in sheet.rows
    ]
    return "\n".join(
        [
            *([f"lot {sheet.lot_id}"] if sheet.lot_id else []),
            *_plan_lines(sheet.plan),
            table(list(sheet.head), rows),
            sheet.words,
            *([sheet.outgoing] if sheet.outgoing else []),
            *([sheet.average_sample] if sheet.average_sample else []),
            *sheet.as_inspected,
        ]
    )


def _plan_lines(plan: LotPlanWords) -> list[str]:
    return [
        f"{plan.order} ({plan.plan})",
        f"Source of the plan: {plan.source}",
        *(f"Note: {words}" for words in plan.statements),
    ]


def _outcome_lines(outcome: LotOutcome) -> list[str]:
    """Return what became of a lot, line by line."""
    lines = [f"{outcome.sign} {outcome.word}: {outcome.sentence}"]
    return lines + [words for words in (outcome.decided, outcome.after) if words]
