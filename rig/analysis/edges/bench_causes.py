"""What the bench adds to every distance: standard uncertainties of its causes.

Each cause is one quantity that all figures of a run have in common, and runs of one rig
too, so every figure takes it with its own sensitivity and nothing is counted twice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.model import bench_items as items
from rig.model.bench_declaration import BenchKnowledge, ValueSource

_SOURCES: Final = tuple(ValueSource)
# JCGM 100:2008 (GUM), G.4.2: half the inverse square of how far the uncertainty itself
# may be off. A certificate's is taken as known (G.4.3), a maker's bound as good to
# 10 %, and so is one that was measured; an assumed one to 25 %.
_DEGREES_OF_FREEDOM: Final = np.array([math.inf, 50.0, 50.0, 8.0])
_PER_UM: Final = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCauses:
    """Causes of one run, or of many at once; each number or array of shape (...).

    A cause of 0 stands in no budget. Its source is that of the number behind it: 0
    certificate, 1 measured, 2 maker, 3 assumed.

    Attributes
    ----------
    lead_mm : array_like
        Period of the screw's error; 0 if nobody knows it.
    periodic_mm : array_like
        Sine and cosine part of the screw's periodic error each; where the lead is
        unknown, the error of one place.
    linear : array_like
        Linear error of the screw, mm/mm.
    cosine : array_like
        Loss by the angle between axis and face, mm/mm.
    expansion : array_like
        Expansion by the temperature, mm/mm.
    repeatability_mm : array_like
        Touch probe, from one touch-off to the next.
    offset_mm : array_like
        Touch probe, offset.
    pretravel_mm : array_like
        Touch probe, pre-travel.
    delay_mm : array_like
        Travel during the delay of the touch probe.
    hysteresis_mm : array_like
        Touch probe, place of opening less that of closing.
    tilt_mm : array_like
        Plate out of parallel.
    plate_mm : array_like
        Flatness of the plate.
    face_mm : array_like
        Flatness of the face.
    backlash_change_mm : array_like
        Backlash where it is used less where it was measured.
    scale_mm : array_like
        Error of the linear scale at one place.
    scale_linear : array_like
        Linear error of the scale, mm/mm.
    sources : tuple of array_like
        Source of each cause, in the order above without the lead.
    """

    lead_mm: npt.ArrayLike = 0.0
    periodic_mm: npt.ArrayLike = 0.0
    linear: npt.ArrayLike = 0.0
    cosine: npt.ArrayLike = 0.0
    expansion: npt.ArrayLike = 0.0
    repeatability_mm: npt.ArrayLike = 0.0
    offset_mm: npt.ArrayLike = 0.0
    pretravel_mm: npt.ArrayLike = 0.0
    delay_mm: npt.ArrayLike = 0.0
    hysteresis_mm: npt.ArrayLike = 0.0
    tilt_mm: npt.ArrayLike = 0.0
    plate_mm: npt.ArrayLike = 0.0
    face_mm: npt.ArrayLike = 0.0
    backlash_change_mm: npt.ArrayLike = 0.0
    scale_mm: npt.ArrayLike = 0.0
    scale_linear: npt.ArrayLike = 0.0
    sources: tuple[npt.ArrayLike, ...] = (0.0,) * 15

    def __post_init__(self) -> None:
        for name in _NUMBERS:
            if np.any(require_finite(name, getattr(self, name)) < 0.0):
                raise ValueError(f"{name} must not be negative")

    def source(self, name: str) -> str:
        """Return the source of a cause in words; runs worked out together share it."""
        code = np.ravel(np.asarray(self.sources[_CAUSES.index(name)]))[0]
        return _SOURCES[int(code)].value

    def degrees_of_freedom(self, name: str) -> FloatArray:
        """Return the degrees of freedom of a cause, by its source."""
        code = np.asarray(self.sources[_CAUSES.index(name)], dtype=np.intp)
        return np.asarray(_DEGREES_OF_FREEDOM[code])

    def datum_mm(self, late_mm: float | None = None) -> float:
        """Return all that a datum may be off by besides the scatter of its touches, mm.

        Parameters
        ----------
        late_mm : float or None
            Standard uncertainty of the travel during the probe's delay where it was
            measured, mm.
        """
        names = ("repeatability", "offset", "pretravel", "tilt", "plate", "face")
        parts = [float(getattr(self, f"{name}_mm")) for name in names]
        delay_mm = float(self.delay_mm) if late_mm is None else late_mm  # type: ignore[arg-type]
        return math.hypot(*parts, delay_mm)

    @property
    def largest_axis_mm(self) -> float:
        """Most that the error of screw or scale may set two places apart, mm."""
        factor = 2.0 if self.lead_mm else math.sqrt(2.0)
        screw_mm, scale_mm = float(self.periodic_mm), float(self.scale_mm)  # type: ignore[arg-type]
        return max(factor * screw_mm, math.sqrt(2.0) * scale_mm)

    def table(self, shape: tuple[int, ...]) -> FloatArray:
        """Return all numbers as a table, shape (*shape, m)."""
        every = (*(getattr(self, name) for name in _NUMBERS), *self.sources)
        return np.stack(
            [
                np.broadcast_to(np.asarray(one, dtype=np.float64), shape)
                for one in every
            ],
            axis=-1,
        )

    def of_runs(self, runs: npt.NDArray[np.intp]) -> BenchCauses:
        """Return the causes of some of many runs, by their indices."""
        numbers = {name: np.asarray(getattr(self, name))[runs] for name in _NUMBERS}
        sources = tuple(np.asarray(each)[runs] for each in self.sources)
        return BenchCauses(**numbers, sources=sources)

    @staticmethod
    def from_table(table: FloatArray) -> BenchCauses:
        """Return the causes that `table` laid out."""
        columns = [table[..., i] for i in range(table.shape[-1])]
        numbers = dict(zip(_NUMBERS, columns, strict=False))
        return BenchCauses(**numbers, sources=tuple(columns[len(_NUMBERS) :]))


_NUMBERS: Final = tuple(f.name for f in fields(BenchCauses) if f.name != "sources")
_CAUSES: Final = _NUMBERS[1:]
NO_CAUSES: Final = BenchCauses()


@lru_cache(maxsize=1024)
def bench_causes(
    known: BenchKnowledge | None, *, screw: bool, scale: bool = False
) -> BenchCauses:
    """Turn what is known of a bench into standard uncertainties.

    Parameters
    ----------
    known : BenchKnowledge or None
        What a run rests on; None for runs on record from before it was kept.
    screw : bool
        Whether the screw's errors count; False where a calibration takes their place.
    scale : bool
        Whether places come from a linear scale, whose errors then count in place of all
        that the screw does.

    Returns
    -------
    BenchCauses
        Numbers of one run.

    Notes
    -----
    Periodic error: with the amplitude at its bound B, two places D apart on lead p
    differ by 2 B |sin(pi D/p)| at most. That most is a bound either way like any other,
    so its variance is a third of its square, (2/3) B^2 (1 - cos(2 pi D/p)); sine and
    cosine part, from home, get B/sqrt 3 each. Expanded by 2 it reaches a little beyond
    what such a screw can do. The variance B^2 (1 - cos(2 pi D/p)) of an amplitude that
    is known and a phase that is not would reach 1.4 times as far. Where the lead is
    unknown, each place gets B/sqrt 3; how far two places agree is in `bench_terms`. Two
    that are half a lead apart then have 0.7 of what a known lead would give them, as
    the mean over all leads does.

    A bound either way is a rectangle, JCGM 100:2008 (GUM), 4.3.7. What a bound one way
    limits (a delay, a pre-travel) is as likely there in full as not at all, and the
    figures are not corrected by its middle: its root mean square about 0 counts,
    bound/sqrt 2.
    """
    if known is None:
        return NO_CAUSES
    # Runs from before an item was there rest on what is assumed of it
    number = {item.key: item.assumed for item in items.BENCH_ITEMS}
    number |= {each.key: each.value for each in known.values}
    source = dict.fromkeys(number, ValueSource.ASSUMED)
    source |= {each.key: each.source for each in known.values}
    screw = screw and not scale

    def bound_mm(key: str) -> float:
        one_way = items.ITEM_OF_KEY[key].form is items.ItemForm.ONE_SIDED
        return _PER_UM * number[key] / math.sqrt(2.0 if one_way else 3.0)

    off_k = math.hypot(number[items.SPAN] / math.sqrt(3.0), number[items.THERMOMETER])
    numbers = {
        "periodic_mm": screw * bound_mm(items.PERIODIC),
        "linear": screw * bound_mm(items.LINEAR),
        "cosine": (1.0 - math.cos(math.radians(number[items.COSINE]))) / math.sqrt(3.0),
        "expansion": 1e-6 * number[items.EXPANSION] * off_k,
        "repeatability_mm": _PER_UM * number[items.PROBE_REPEATABILITY],
        "offset_mm": bound_mm(items.PROBE_OFFSET),
        "pretravel_mm": bound_mm(items.PROBE_PRETRAVEL),
        "delay_mm": known.touch_speed_mm_s * bound_mm(items.PROBE_DELAY),
        "hysteresis_mm": bound_mm(items.PROBE_HYSTERESIS),
        "tilt_mm": bound_mm(items.TILT),
        "plate_mm": bound_mm(items.PLATE_FLATNESS),
        "face_mm": bound_mm(items.FACE_FLATNESS),
        "backlash_change_mm": (not scale) * bound_mm(items.BACKLASH_CHANGE),
        "scale_mm": scale * bound_mm(items.SCALE_LOCAL),
        "scale_linear": scale * bound_mm(items.SCALE_LINEAR),
    }
    return BenchCauses(
        lead_mm=number[items.LEAD],
        **numbers,
        sources=tuple(_weakest([source[k] for k in _BEHIND[name]]) for name in _CAUSES),
    )


_BEHIND: Final = {
    "periodic_mm": (items.PERIODIC,),
    "linear": (items.LINEAR,),
    "cosine": (items.COSINE,),
    "expansion": (items.EXPANSION, items.SPAN, items.THERMOMETER),
    "repeatability_mm": (items.PROBE_REPEATABILITY,),
    "offset_mm": (items.PROBE_OFFSET,),
    "pretravel_mm": (items.PROBE_PRETRAVEL,),
    "delay_mm": (items.PROBE_DELAY,),
    "hysteresis_mm": (items.PROBE_HYSTERESIS,),
    "tilt_mm": (items.TILT,),
    "plate_mm": (items.PLATE_FLATNESS,),
    "face_mm": (items.FACE_FLATNESS,),
    "backlash_change_mm": (items.BACKLASH_CHANGE,),
    "scale_mm": (items.SCALE_LOCAL,),
    "scale_linear": (items.SCALE_LINEAR,),
}


def _weakest(sources: Sequence[ValueSource]) -> float:
    return float(max(_SOURCES.index(ValueSource(source)) for source in sources))


def widest(causes: Sequence[BenchCauses]) -> BenchCauses:
    """Return the largest of each cause, for a run taken under several declarations.

    Parameters
    ----------
    causes : sequence of BenchCauses
        Causes under each of the run's conditions, at least one; numbers.

    Returns
    -------
    BenchCauses
        Where the leads differ, the lead counts as unknown.
    """
    if all(one == causes[0] for one in causes):
        return causes[0]
    table = np.stack([one.table(()) for one in causes])
    most = table.max(axis=0)
    if np.ptp(table[:, 0]) > 0.0:
        most[0] = 0.0
    return BenchCauses.from_table(most)
