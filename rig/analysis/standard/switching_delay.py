"""Both switching delays together against a data sheet's switching frequency."""

from __future__ import annotations

from rig.analysis.limits.verdict import GUARDED, Limits, Rule, Verdict, verdict
from rig.errors import InputError
from rig.model.figures import Figure


def delay_verdict(
    both: Figure, switching_frequency_hz: float, rule: Rule = GUARDED
) -> Verdict:
    """Hold the sum of both delays against the data sheet's switching frequency.

    Parameters
    ----------
    both : Figure
        tau_on + tau_off, ms.
    switching_frequency_hz : float
        Switching frequency in the data sheet, Hz, above 0.
    rule : Rule
        Decision rule.

    Returns
    -------
    Verdict
        In ms; the limit is 1/f.

    Raises
    ------
    InputError
        If the frequency is not above 0 or the figure is not in ms.

    Notes
    -----
    IEC 60947-5-2 (from memory): f = 1/(t_on + t_off). The delays found here hold for a
    target that moves slowly along the axis, not for the standard's toothed disc, so
    they can be shorter than the standard's.
    """
    return verdict(both, delay_limits(switching_frequency_hz), rule)


def delay_limits(switching_frequency_hz: float) -> Limits:
    """Limits of both delays together by a switching frequency.

    Parameters
    ----------
    switching_frequency_hz : float
        Switching frequency in the data sheet, Hz, above 0.

    Returns
    -------
    Limits
        In ms.

    Raises
    ------
    InputError
        If the frequency is not above 0.
    """
    if not switching_frequency_hz > 0.0:
        raise InputError(
            f"a switching frequency of {switching_frequency_hz:g} Hz is not possible",
            hint="take it from the data sheet, Hz",
        )
    return Limits(
        lower=float("-inf"),
        upper=1000.0 / switching_frequency_hz,
        unit="ms",
        source="1/f of the data sheet; relation of IEC 60947-5-2, from memory",
    )
