"""Time delay before availability in rows, words and rounded numbers."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision
from rig.inquiry.availability_checks import Availabilities, AvailabilityResult
from rig.model.figures import Figure
from rig.model.rounding import format_decimals, format_figure
from rig.sheets.bench_words import NOT_RECORDED, utc
from rig.sheets.signs import VERDICT_SIGNS

AVAILABILITY_HEAD = (
    "check",
    "sensor",
    "part",
    "target",
    "switchings",
    "longest delay",
    "longest false signal",
    "verdict",
)
_DASH = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class AvailabilitySheet:
    """One sensor; all text.

    Attributes:
        name: Identity of the check, its rig and its time.
        rows: Name and value of each figure and condition.
        verdicts: A sentence each, with its sign.
    """

    name: str
    rows: tuple[tuple[str, str], ...]
    verdicts: tuple[str, ...]


def availability_sheet(result: AvailabilityResult) -> AvailabilitySheet:
    """Lay out what the switchings of one sensor show."""
    found = result.found
    warm = result.temperature_c
    simulated = ", SIMULATED" if result.simulated else ""
    of_part = f", part {result.part}" if result.part else ""
    spread = None if found.delay is None else found.delay.standard_deviation
    return AvailabilitySheet(
        name=f"check {result.check_id} on {result.rig_id}{simulated},"
        f" {utc(result.entered_at)}",
        rows=(
            ("sensor", f"{result.sensor}{of_part}"),
            ("target", result.target),
            ("operator", result.operator or NOT_RECORDED),
            ("temperature", NOT_RECORDED if warm is None else f"{warm:.1f} °C"),
            ("switchings", f"{found.n}, each {result.off_s:g} s without supply"),
            ("time delay before availability, longest", _shown(found.delay)),
            ("its mean", _ms(found.mean_ms)),
            ("standard deviation of one", _ms(spread)),
            ("false signal, longest", _shown(found.false_signal)),
            ("switchings with one", f"{found.false_signals} of {found.n}"),
            ("not available in the time watched", f"{found.never} of {found.n}"),
        ),
        verdicts=(
            *(
                f"{VERDICT_SIGNS[one.decision]} {what}: {one.sentence}"
                for what, one in zip(_names(result), found.verdicts, strict=True)
            ),
            *_never(result),
        ),
    )


def availability_rows(found: Availabilities) -> tuple[tuple[str, ...], ...]:
    """Lay out all checks, a row each, in the order of `AVAILABILITY_HEAD`."""
    return tuple(
        (
            f"{one.check_id}{'  SIMULATED' if one.simulated else ''}",
            one.sensor,
            one.part or _DASH,
            one.target,
            str(one.found.n),
            _shown(one.found.delay),
            _shown(one.found.false_signal),
            f"{VERDICT_SIGNS[one.decision]} {one.decision.value}",
        )
        for one in found.checks
    )


def _never(result: AvailabilityResult) -> tuple[str, ...]:
    """Say that the output was not as it should be, which no figure shows."""
    found = result.found
    if not found.never:
        return ()
    sign = VERDICT_SIGNS[Decision.DOES_NOT_CONFORM]
    return (
        f"{sign} availability: does not conform, the output was not as it should be"
        f" after {found.never} of {found.n} switchings.",
    )


def _names(result: AvailabilityResult) -> tuple[str, ...]:
    names = ("time delay before availability", "false signal")
    return names if result.found.delay is not None else names[1:]


def _shown(figure: Figure | None) -> str:
    if figure is None:
        return _DASH
    return str(format_figure(figure)) if figure.value else f"none, n = {figure.n}"


def _ms(value: float | None) -> str:
    return _DASH if value is None else f"{format_decimals(value, 2)} ms"
