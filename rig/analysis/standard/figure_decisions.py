"""What the figures of a run decide, without the words of verdicts: for long lists."""

from __future__ import annotations

from collections.abc import Sequence

from rig.analysis.limits.verdict import GUARDED, Decision, Rule, decision_about
from rig.analysis.standard.iec_60947_5_2 import run_decisions
from rig.analysis.standard.run_against_standard import (
    delay_to_hold,
    sensor_limits,
    why_no_verdict_of,
)
from rig.analysis.standard.switching_delay import delay_limits
from rig.model.figures import RunFigures
from rig.model.sweeps import Conditions, RunHeader


def decisions_of_figures(
    header: RunHeader,
    figures: RunFigures,
    rule: Rule = GUARDED,
    *,
    later: Sequence[Conditions] = (),
) -> dict[str, Decision]:
    """Decide by the figures of a run that is not void.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    figures : RunFigures
        Those that apply to the run.
    rule : Rule
        Decision rule.
    later : sequence of Conditions
        Conditions that the run was resumed under.

    Returns
    -------
    dict of str to Decision
        By symbol, as the verdicts of `verdicts_of_figures`.

    Raises
    ------
    InputError
        If a limit of the data sheet is invalid.
    """
    if why_no_verdict_of(header, later, header.product):
        return {}
    product = header.product
    sensor = header.sensor if product is None else product.specification.sensor
    return run_decisions(figures, sensor, sensor_limits(sensor), rule=rule)


def decision_about_delay(
    header: RunHeader,
    figures: RunFigures,
    rule: Rule = GUARDED,
    *,
    later: Sequence[Conditions] = (),
) -> Decision | None:
    """Decide about both switching delays of a run that is not void.

    Parameters
    ----------
    header : RunHeader
        What was measured.
    figures : RunFigures
        Those that apply to the run.
    rule : Rule
        Decision rule.
    later : sequence of Conditions
        Conditions that the run was resumed under.

    Returns
    -------
    Decision or None
        As the verdict of `delay_of_figures`.

    Raises
    ------
    InputError
        If the frequency of the data sheet is not possible.
    """
    held = delay_to_hold(header, figures, later=later, product=header.product)
    if held is None:
        return None
    both, frequency_hz = held
    return decision_about(both, delay_limits(frequency_hz), rule)
