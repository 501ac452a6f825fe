"""A plan with the runs that were made for it."""

from __future__ import annotations

from rig.analysis.limits.verdict import Rule
from rig.inquiry.runs_behind import runs_behind
from rig.records import Reader
from rig.report.plan_view import PlanMatter


def plan_matter(reader: Reader, plan_id: str, rule: Rule) -> PlanMatter:
    """Collect a plan; a run that is void or has not ended is left out.

    Raises:
        RecordsError: It is not on record.
    """
    progress = tuple(reader.plan_progress(plan_id))
    ended = [
        run.run_id
        for item in progress
        for run in item.runs
        if run.ended_at and not run.void
    ]
    return PlanMatter(
        entry=reader.plan(plan_id),
        progress=progress,
        runs=runs_behind(reader, ended),
        rule=rule,
    )
