"""Reads the edges of very many runs as plain arrays. Never writes.

For figures of all that is on record at once: one object an edge would cost more time
than the figures. A page of runs is held at a time, however many there are.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

from rig.model.bench_declaration import BenchKnowledge
from rig.model.calibration import AxisCalibration
from rig.model.mounted import BacklashSource, OutputKind
from rig.model.sweeps import DatumCheck
from rig.records import run_page_queries as queries
from rig.records.datum_checks import datum_checks_between, datum_checks_in
from rig.records.decoding import decodes
from rig.records.mapping import calibration_in, knowledge_in, time_of
from rig.records.plain_rows import plain_rows
from rig.records.run_page_check import changed_runs
from rig.records.run_page_sweeps import plain_sweeps
from rig.records.store import Store

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    FloatArray = npt.NDArray[np.float64]
    IndexArray = npt.NDArray[np.intp]

RUNS_AT_ONCE = 2000
# In the JSON of the conditions: places of these runs are not step counts
_HAS_SCALE = re.compile(r'"scale_counts_per_mm": (?!null)')
(
    _RUN_ID,
    _CONDITIONS,
    _SENSOR,
    _VOID,
    _ENDED_AT,
    _HOME_SHIFT,
    _TIMETABLE,
    _HOME_REPEATABILITY,
) = map(
    queries.RUN_COLUMNS.index,
    (
        "run_id",
        "conditions",
        "sensor",
        "void",
        "ended_at",
        "home_shift_steps",
        "timetable",
        "home_repeatability_mm",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCircumstances:
    """What runs of one kind have in common of what is said of their figures.

    Attributes:
        sweeps: Number of all sweeps of the run.
        usable: Number of those that are not void and have both edges.
        first_void: Why the first void sweep is void; empty without one.
        home_shift_steps: Steps by which the home switch moved; None if unchecked.
        home_repeatability_mm: Standard deviation of the place at which that switch
            closes; None if nobody repeated it.
        steps_per_mm: Scale of the axis.
        backlash_not_measured_mm: Stated standard uncertainty of a backlash that nobody
            measured; None if it was measured.
        switching_frequency_hz: Switching frequency in the data sheet (Hz); None if it
            is unknown.
    """

    sweeps: int
    usable: int
    first_void: str
    home_shift_steps: int | None
    home_repeatability_mm: float | None
    steps_per_mm: float
    backlash_not_measured_mm: float | None
    switching_frequency_hz: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibratedRun:
    """What a run has to do with the calibration of its axis.

    Attributes:
        calibration: Calibration of the axis, as it stood then.
        last_day: Day of the last usable sweep.
    """

    calibration: AxisCalibration
    last_day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPage:
    """A page of runs: those that are plain as arrays, the others by their identity.

    A run is plain if it has ended, is not void, was taken under one set of conditions,
    no timetable and no linear scale, and has a usable sweep, and if every usable sweep
    has two edges, the first to the operated level on approach, the second back on
    retreat.

    Attributes:
        run_ids: The plain runs, r of them.
        circumstances: Circumstances of each of them, equal ones being one object.
        calibrated: Runs whose axis had a calibration, by index.
        sweeps: Number of usable sweeps of each, shape (r,).
        speed_mm_s: Speed of every usable sweep of theirs, run after run, shape (s,).
        order: Index of every one in its run, shape (s,).
        operate_steps: Step count of the operate edge, shape (s,).
        release_steps: Step count of the release edge, shape (s,).
        steps_per_mm: Scale of the axis of each run, shape (r,).
        axis_mm: Standard uncertainty of the axis as stated, shape (r,); 0 where what is
            known of the bench stands in its place.
        datum_steps: Datum, shape (r,).
        datum_mm: Standard uncertainty of the datum, shape (r,).
        datum_dof: Degrees of freedom of the datum, shape (r,).
        probe_mm: Standard uncertainty of the touch probe, likewise.
        backlash_mm: Backlash, shape (r,).
        backlash_uncertainty_mm: Standard uncertainty of the backlash, shape (r,).
        backlash_dof: Degrees of freedom of the backlash, shape (r,).
        datum_checks: Touches of the face after sweeps, by index of the run.
        backlash_by_probe: 1 where the backlash is from the touch probe, shape (r,).
        late_mm: Standard uncertainty of the travel during the probe's delay, shape
            (r,); 0 where it was not measured.
        bench: What is known of the bench of each run; None where it was not kept.
        others: Runs that have to be read whole.
        simulated: Those of the plain runs that were measured on a simulated rig.
    """

    run_ids: tuple[str, ...]
    circumstances: tuple[RunCircumstances, ...]
    calibrated: dict[int, CalibratedRun]
    sweeps: IndexArray
    speed_mm_s: FloatArray
    order: FloatArray
    operate_steps: FloatArray
    release_steps: FloatArray
    steps_per_mm: FloatArray
    axis_mm: FloatArray
    datum_steps: FloatArray
    datum_mm: FloatArray
    datum_dof: FloatArray
    probe_mm: FloatArray
    backlash_mm: FloatArray
    backlash_uncertainty_mm: FloatArray
    backlash_dof: FloatArray
    datum_checks: dict[int, list[DatumCheck]]
    backlash_by_probe: FloatArray
    late_mm: FloatArray
    bench: tuple[BenchKnowledge | None, ...]
    others: tuple[str, ...]
    simulated: frozenset[str]

    @property
    def every_run_id(self) -> list[str]:
        """All runs of the page, in order."""
        return sorted((*self.run_ids, *self.others))


_KNOWN = (
    "steps_per_mm",
    "axis_mm",
    "datum_steps",
    "datum_mm",
    "datum_dof",
    "probe_mm",
    "backlash_mm",
    "backlash_uncertainty_mm",
    "backlash_dof",
    "backlash_by_probe",
    "late_mm",
)


def page_bounds(
    store: Store, *, runs_at_once: int = RUNS_AT_ONCE
) -> list[tuple[str, str]]:
    """Return the first and the last run of each page of all that is on record.

    Args:
        store: Open records.
        runs_at_once: Length of a page.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        run_ids = [row[0] for row in plain_rows(connection, queries.every_run_id())]
    starts = range(0, len(run_ids), runs_at_once)
    pages = [run_ids[start : start + runs_at_once] for start in starts]
    return [(page[0], page[-1]) for page in pages]


def run_page(store: Store, first: str, last: str) -> RunPage:
    """Return the runs from first to last, read in one transaction.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.reading() as connection:
        return _page(connection, first, last, frozenset())


@decodes("a run")
def _page(
    connection: Connection, first: str, last: str, changed: frozenset[str]
) -> RunPage:
    """Return a page; runs that were changed are none of the plain ones."""
    import numpy as np

    rows = plain_rows(connection, queries.runs_of_page(first, last))
    counts = _Counts(connection, first, last)
    by_id = {row[_RUN_ID]: row for row in rows}
    again = {
        row[0] for row in plain_rows(connection, queries.taken_up_again(first, last))
    }
    swept = plain_sweeps(
        connection,
        first,
        last,
        usable=counts.usable,
        some_unusable=counts.some_unusable,
        operated_level={
            name: _sensor(row[_SENSOR])[0]
            for name, row in by_id.items()
            if _may_be_plain(row) and name not in again | changed
        },
    )
    names = swept.run_ids
    found = changed_runs(connection, first, last, by_id, swept, counts.ends)
    if found:
        return _page(connection, first, last, changed | found)
    others = by_id.keys() - set(names)
    # One text: its keys are looked up once for all of them
    parsed = json.loads(f"[{','.join(by_id[name][_CONDITIONS] for name in names)}]")
    known = np.array([_known(each) for each in parsed], dtype=np.float64)
    known = known.reshape(len(names), len(_KNOWN))
    return RunPage(
        run_ids=tuple(names),
        circumstances=tuple(
            _circumstances(
                counts.sweeps[name],
                counts.usable[name],
                counts.first_void.get(name, ""),
                by_id[name][_HOME_SHIFT],
                by_id[name][_HOME_REPEATABILITY],
                each["axis"]["steps_per_mm"],
                _not_measured_mm(each["backlash"]),
                by_id[name][_SENSOR],
            )
            for name, each in zip(names, parsed, strict=True)
        ),
        calibrated=_calibrated(connection, names, parsed),
        sweeps=swept.sweeps,
        speed_mm_s=swept.speed_mm_s,
        order=swept.order,
        operate_steps=swept.operate_steps,
        release_steps=swept.release_steps,
        **{name: known[:, i].copy() for i, name in enumerate(_KNOWN)},
        datum_checks=_datum_checks(connection, names),
        bench=_benches(parsed),
        others=tuple(name for name in by_id if name in others),
        simulated=frozenset(
            name for name, each in zip(names, parsed, strict=True) if each["simulated"]
        ),
    )


class _Counts:
    """Number of sweeps by run, and of usable ones of each run that has any.

    When they ended is there for runs with no other sweeps.
    """

    def __init__(self, connection: Connection, first: str, last: str) -> None:
        self.sweeps: dict[str, int] = {}
        self.usable: dict[str, int] = {}
        self.first_void: dict[str, str] = {}
        self.ends: dict[str, str] = {}
        query = queries.sweep_counts(first, last)
        for run_id, sweeps, usable, ends in plain_rows(connection, query):
            self.sweeps[run_id] = sweeps
            if sweeps == usable:
                self.ends[run_id] = ends
            if usable:
                self.usable[run_id] = usable
        self.some_unusable = self.sweeps != self.usable
        if self.some_unusable:
            voids = plain_rows(connection, queries.void_sweeps(first, last))
            for run_id, void in voids:
                self.first_void.setdefault(run_id, void)


def _may_be_plain(row: Any) -> bool:
    open_or_void = row[_VOID] or row[_ENDED_AT] is None
    timed = row[_TIMETABLE] is not None
    return not (open_or_void or timed or _HAS_SCALE.search(row[_CONDITIONS]))


def _calibrated(
    connection: Connection, names: list[str], parsed: list[dict[str, Any]]
) -> dict[int, CalibratedRun]:
    known = {
        at: calibration
        for at, each in enumerate(parsed)
        if (calibration := calibration_in(each["calibration"])) is not None
    }
    if not known:
        return {}
    days = dict(plain_rows(connection, queries.last_usable_ends(names[0], names[-1])))
    return {
        at: CalibratedRun(
            calibration=calibration, last_day=time_of(days[names[at]]).date()
        )
        for at, calibration in known.items()
    }


def _datum_checks(
    connection: Connection, names: list[str]
) -> dict[int, list[DatumCheck]]:
    if not names:
        return {}
    query = datum_checks_between(names[0], names[-1])
    found = datum_checks_in(connection, query)
    return {at: found[name] for at, name in enumerate(names) if name in found}


def _known(conditions: dict[str, Any]) -> tuple[float, ...]:
    axis, datum = conditions["axis"], conditions["datum"]
    backlash = conditions["backlash"]
    stated = conditions.get("bench") is None
    return (
        axis["steps_per_mm"],
        axis["standard_uncertainty_mm"] if stated else 0.0,
        datum["position_steps"],
        datum["standard_uncertainty_mm"],
        float(datum["degrees_of_freedom"]),
        datum["probe_uncertainty_mm"] if stated else 0.0,
        backlash["value_mm"],
        backlash["standard_uncertainty_mm"],
        float(backlash["degrees_of_freedom"]),
        float(backlash["source"] == BacklashSource.PROBE),
        datum.get("late_uncertainty_mm") or 0.0,
    )


def _benches(parsed: list[dict[str, Any]]) -> tuple[BenchKnowledge | None, ...]:
    """Return what is known of each bench; runs in a row mostly rest on the same."""
    found: list[BenchKnowledge | None] = []
    last: dict[str, Any] | None = None
    known: BenchKnowledge | None = None
    for each in parsed:
        row = each.get("bench")
        if row != last:
            known, last = knowledge_in(row), row
        found.append(known)
    return tuple(found)


def _not_measured_mm(backlash: dict[str, Any]) -> float | None:
    if backlash["source"] != BacklashSource.NOT_MEASURED:
        return None
    return float(backlash["standard_uncertainty_mm"])


@lru_cache(maxsize=4096)
def _circumstances(
    sweeps: int,
    usable: int,
    first_void: str,
    home_shift_steps: int | None,
    home_repeatability_mm: float | None,
    steps_per_mm: float,
    backlash_not_measured_mm: float | None,
    sensor: str,
) -> RunCircumstances:
    return RunCircumstances(
        sweeps=sweeps,
        usable=usable,
        first_void=first_void,
        home_shift_steps=home_shift_steps,
        home_repeatability_mm=home_repeatability_mm,
        steps_per_mm=steps_per_mm,
        backlash_not_measured_mm=backlash_not_measured_mm,
        switching_frequency_hz=_sensor(sensor)[1],
    )


@lru_cache(maxsize=1024)
def _sensor(text: str) -> tuple[bool, float | None]:
    """Level of the output when the sensor operates, and its switching frequency."""
    row = json.loads(text)
    return (
        OutputKind(row["output"]) is OutputKind.NORMALLY_OPEN,
        row["switching_frequency_hz"],
    )
