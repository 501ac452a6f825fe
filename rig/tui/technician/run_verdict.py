"""The verdict on a run as a banner: the gravest, with the figure that decided."""

from __future__ import annotations

from dataclasses import replace

from rig.inquiry.deciding_figure import deciding_figure
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.technician.run_sections import RunFacts
from rig.tui.widgets.verdict_interval import interval_of
from rig.tui.widgets.verdict_panel import Banner, verdict_banner

_NOT_TESTED = "not tested"
_NO_VERDICT = "no verdict"


def run_banner(facts: RunFacts) -> Banner:
    """Return the verdict on a run, or why there is none."""
    found, sheet = facts.found, facts.sheet
    decision = found.verdict or _NOT_TESTED
    if sheet.void or decision == _NOT_TESTED:
        reasons = (sheet.void, sheet.no_figures, *sheet.verdicts.statements)
        why = next(filter(None, reasons), "no limit applies to it")
        banner = verdict_banner(VERDICT_SIGNS[_NOT_TESTED], _NO_VERDICT, why)
        return replace(banner, simulated=sheet.simulated)
    deciding = deciding_figure(found)
    banner = verdict_banner(VERDICT_SIGNS[decision], decision, sheet.no_figures)
    return replace(
        banner,
        interval=None if deciding is None else interval_of(deciding),
        simulated=sheet.simulated,
    )
