"""How far the datum moved while a run was swept, by touching the face again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.edges.budget import Knowns, Term
from rig.model.figures import Evaluation
from rig.model.sweeps import DatumCheck

# A difference of more voids the run, whatever the touches scatter by
FLOOR_MM = 0.02
# Standard uncertainties of its own that a difference may have at least
UNCERTAINTIES = 5.0
DATUM_MOVED = "datum moved, by touching the face again"  # its line of a budget
_SPEAKS = 3.0  # standard uncertainties from which on a difference is told


@dataclass(frozen=True, slots=True, kw_only=True)
class DatumClosing:
    """What touching the face again says of a datum.

    Attributes
    ----------
    difference_mm : float
        Place of the face less the datum, the largest in size of all checks; above 0 the
        face lies further from home, and gaps by the datum read small.
    standard_uncertainty_mm : float
        Standard uncertainty of that difference, from the touches; what the probe itself
        is off by cancels.
    closed : bool
        Whether the last check came after the last sweep in use.
    """

    difference_mm: float
    standard_uncertainty_mm: float
    closed: bool

    @property
    def bound_mm(self) -> float:
        """Size of the difference beyond which the run is void."""
        return max(FLOOR_MM, UNCERTAINTIES * self.standard_uncertainty_mm)

    @property
    def moved(self) -> bool:
        """Whether the datum moved by more than a run can bear."""
        return abs(self.difference_mm) > self.bound_mm


def datum_closing(
    checks: Sequence[DatumCheck],
    datum_steps: float,
    datum_mm: float,
    *,
    steps_per_mm: float,
    last_sweep: int,
) -> DatumClosing | None:
    """Compare a datum with the face as it was touched again.

    Parameters
    ----------
    checks : sequence of DatumCheck
        Checks of this datum, in order.
    datum_steps : float
        Place of the datum, steps from home.
    datum_mm : float
        Standard uncertainty of the datum.
    steps_per_mm : float
        Scale of the axis.
    last_sweep : int
        Index of the last sweep in use under the datum; -1 without one.

    Returns
    -------
    DatumClosing or None
        None without a check.
    """
    if not checks:
        return None
    differences = [(check.place_steps - datum_steps) / steps_per_mm for check in checks]
    at = max(range(len(checks)), key=lambda index: abs(differences[index]))
    return DatumClosing(
        difference_mm=differences[at],
        standard_uncertainty_mm=math.hypot(
            datum_mm, checks[at].standard_uncertainty_mm
        ),
        closed=checks[-1].sweeps_before > last_sweep,
    )


def is_closed(closing: DatumClosing | None) -> bool:
    """Tell whether the face was touched again after the last sweep of a datum.

    Parameters
    ----------
    closing : DatumClosing or None
        None if the face was not touched again.

    Returns
    -------
    bool
        Lost steps would have shown then.
    """
    return closing is not None and closing.closed


def closing_sentences(closing: DatumClosing | None) -> tuple[str, ...]:
    """Say what the reader of the figures has to know of a datum's closing.

    Parameters
    ----------
    closing : DatumClosing or None
        None if the face was not touched again.

    Returns
    -------
    tuple of str
        Whole sentences; empty if the face was found where the datum has it.
    """
    if closing is None or not closing.closed:
        return (
            "The face was not touched again after the sweeps, so a datum that moved"
            " would have gone unnoticed.",
        )
    if abs(closing.difference_mm) <= _SPEAKS * closing.standard_uncertainty_mm:
        return ()
    return (
        f"The face was found {1000.0 * closing.difference_mm:+.1f} µm from the datum"
        " when it was touched again; what the gaps may be off by for it is in the"
        " budget.",
    )


def moved_share_mm(
    closings: Sequence[DatumClosing | None], shares: Sequence[float]
) -> float | None:
    """Combine the closing differences of a run's datums by their shares in the points.

    Parameters
    ----------
    closings : sequence of DatumClosing or None
        One for each of the run's conditions.
    shares : sequence of float
        What each weighs in the points at rest.

    Returns
    -------
    float or None
        Size of the difference, mm: the sum of all sizes, since what moves a bench may
        go on under the next datum. None if no datum in use was checked.
    """
    moved = [
        abs(share * closing.difference_mm)
        for closing, share in zip(closings, shares, strict=True)
        if closing is not None and abs(share) > 1e-12
    ]
    return sum(moved) if moved else None


def closing_terms(knowns: Knowns) -> tuple[Term, ...]:
    """What the datum moved by between its touches may shift a point by; mm.

    Notes
    -----
    When the face moved is not known: a point is off by nothing to the whole difference.
    The point is left as observed, so the uncertainty is the root mean square of a
    rectangle from 0 to the difference about 0 (JCGM 100:2008 (GUM), F.2.4.5, from
    memory), which also covers a face that moved at once: 2 / sqrt(3) of the difference.
    """
    if knowns.datum_moved_mm is None:
        return ()
    return (
        Term(
            name=DATUM_MOVED,
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=np.asarray(knowns.datum_moved_mm, dtype=np.float64)
            / math.sqrt(3.0),
            degrees_of_freedom=math.inf,
        ),
    )
