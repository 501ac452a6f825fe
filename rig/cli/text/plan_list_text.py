"""The plans on record as plain text."""

from __future__ import annotations

from rig.cli.text.table import table
from rig.inquiry.plan_list import PlanList
from rig.sheets.bench_words import utc

_HEAD = ("plan", "begun (UTC)", "state", "pairs", "title", "")


def plan_list_text(found: PlanList) -> str:
    """Return one line a plan."""
    rows = [
        (
            plan.plan_id,
            utc(plan.created_at),
            plan.state,
            str(plan.pairs),
            plan.title,
            "SIMULATED" if plan.simulated else "",
        )
        for plan in found.plans
    ]
    return table(_HEAD, rows) if rows else "No plans on record."
