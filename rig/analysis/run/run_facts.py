"""What is to be said of a run beside its figures, from facts that are no arrays.

Runs of one kind share their facts, so the sentences are made once for all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from rig.analysis.edges.datum_closing import closing_sentences, is_closed
from rig.analysis.edges.quality import pick_edges
from rig.analysis.edges.run_arrays import calibration_of_run, closings_of_run
from rig.analysis.run.home_shift import home_finding_of
from rig.model.bench_declaration import BenchKnowledge
from rig.model.mounted import Backlash, BacklashSource
from rig.model.sweeps import Run, Sweep

_UNDECLARED = (
    "Nothing is declared of the bench: what its screw, probe and plate may be off by is"
    " assumed."
)
_EDGE_MISSING = "an edge is missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """What the sentences of a run rest on besides its points.

    Attributes
    ----------
    void : str
        Why the whole run is void; empty if it is not.
    ended : bool
        Whether the run has ended.
    home_checked : bool
        Whether the home switch was touched again after the run.
    datums_closed : bool
        Whether the face was touched again after the last sweep of every datum in use,
        so that lost steps show without the home switch.
    home : str
        What the shift of that switch says against the run; empty if nothing.
    sweeps : int
        Number of all sweeps.
    usable : int
        Number of those that the figures rest on.
    first_void : str
        Why the first void sweep is void; empty without one.
    chattering : int
        Number of usable sweeps with more than two edges.
    extra_edges : int
        Edges that these have too many.
    other_edges_taken : bool
        Whether a usable sweep has other edges taken than the first to the expected
        level.
    datums : int
        Number of conditions that usable sweeps were taken under.
    backlash_not_measured_mm : float or None
        Stated standard uncertainty of a backlash that nobody measured; None if it was
        measured.
    timetable : tuple[str, ...]
        Sentences about the timetable.
    calibration : tuple[str, ...]
        Sentences about the calibration of the axis and the declaration of the bench.
    single_speed_mm_s : float or None
        The speed if there was only one; None with several.
    switching_frequency_hz : float or None
        Switching frequency in the data sheet (Hz); None if unknown.
    datum : tuple[str, ...]
        Sentences about the datum after the sweeps.
    """

    void: str = ""
    ended: bool = True
    home_checked: bool
    datums_closed: bool = False
    home: str
    sweeps: int
    usable: int
    first_void: str
    chattering: int = 0
    extra_edges: int = 0
    other_edges_taken: bool = False
    datums: int = 1
    backlash_not_measured_mm: float | None
    timetable: tuple[str, ...] = ()
    calibration: tuple[str, ...]
    single_speed_mm_s: float | None
    switching_frequency_hz: float | None
    datum: tuple[str, ...] = ()


def facts_of_run(
    run: Run, sweeps: Sequence[Sweep], timetable: tuple[str, ...] = ()
) -> RunFacts:
    """Collect the facts of a run.

    Parameters
    ----------
    run : Run
        Run with all its sweeps.
    sweeps : sequence of Sweep
        Those that the figures rest on.
    timetable : tuple of str
        Sentences about its timetable.

    Returns
    -------
    RunFacts
        Of that run.
    """
    output = run.header.sensor.output
    extra = [len(s.edges) - 2 for s in sweeps if len(s.edges) > 2]
    used = sorted({sweep.conditions_index for sweep in sweeps})
    said = [
        sentence
        for index, correction in enumerate(calibration_of_run(run))
        if index in used
        for sentence in correction.statements
    ]
    said += [
        sentence for i in used for sentence in about_the_bench(run.conditions[i].bench)
    ]
    closings = closings_of_run(run)
    about_datums = [
        sentence for index in used for sentence in closing_sentences(closings[index])
    ]
    return RunFacts(
        void=run.void,
        ended=run.ended_at is not None,
        home_checked=run.home_shift_steps is not None,
        datums_closed=all(is_closed(closings[index]) for index in used),
        home=home_finding_of(run),
        sweeps=len(run.sweeps),
        usable=len(sweeps),
        first_void=next((s.void for s in run.sweeps if s.void), ""),
        chattering=len(extra),
        extra_edges=sum(extra),
        other_edges_taken=any(
            pick_edges(s.edges, output) != (s.operate, s.release) for s in sweeps
        ),
        datums=len(used),
        backlash_not_measured_mm=not_measured_mm(
            [run.conditions[i].backlash for i in used]
        ),
        timetable=timetable,
        calibration=tuple(dict.fromkeys(said)),
        single_speed_mm_s=single_speed([s.speed_mm_s for s in sweeps]),
        switching_frequency_hz=run.header.sensor.switching_frequency_hz,
        datum=tuple(dict.fromkeys(about_datums)) if run.ended_at is not None else (),
    )


def about_the_bench(known: BenchKnowledge | None) -> tuple[str, ...]:
    """Say whether the errors of the bench are declared.

    Parameters
    ----------
    known : BenchKnowledge or None
        What the run rests on; None for a run from before that was kept.

    Returns
    -------
    tuple of str
        Whole sentences; empty if there is nothing to say.
    """
    if known is None or known.declared:
        return ()
    return (_UNDECLARED,)


def single_speed(speeds_mm_s: Sequence[float]) -> float | None:
    """Return the only speed of some sweeps; None if there are several.

    Parameters
    ----------
    speeds_mm_s : sequence of float
        Speeds, at least one, mm/s.

    Returns
    -------
    float or None
        In mm/s, rounded to 1e-9.
    """
    speeds = {round(speed, 9) for speed in speeds_mm_s}
    return None if len(speeds) > 1 else next(iter(speeds))


def not_measured_mm(backlashes: Sequence[Backlash]) -> float | None:
    """Return the stated uncertainty of the first backlash that was not measured.

    Parameters
    ----------
    backlashes : sequence of Backlash
        Backlashes of the conditions in use.

    Returns
    -------
    float or None
        Standard uncertainty, mm; None if all were measured.
    """
    return next(
        (
            backlash.standard_uncertainty_mm
            for backlash in backlashes
            if backlash.source is BacklashSource.NOT_MEASURED
        ),
        None,
    )


@lru_cache(maxsize=4096)
def sentences_of(facts: RunFacts) -> tuple[str, ...]:
    """Say what the reader of a run's figures has to know besides them.

    Parameters
    ----------
    facts : RunFacts
        Facts of the run.

    Returns
    -------
    tuple of str
        Whole sentences, the gravest first; empty if there is nothing to say.
    """
    return (
        *_about_the_run(facts),
        *facts.datum,
        *_about_the_edges(facts),
        *facts.timetable,
        *_about_the_corrections(facts),
        *facts.calibration,
        *_about_the_delay(facts),
    )


def _about_the_run(facts: RunFacts) -> list[str]:
    found = []
    if facts.void:
        found.append(f"The whole run is void: {facts.void}.")
    if facts.home:
        found.append(f"{facts.home[0].upper()}{facts.home[1:]}.")
    elif not (facts.home_checked or facts.datums_closed) and facts.ended:
        found.append(
            "Neither the home switch nor the face was touched again after the run, so"
            " lost steps would have gone unnoticed."
        )
    return found


def _about_the_edges(facts: RunFacts) -> list[str]:
    found = []
    unused = facts.sweeps - facts.usable
    if unused:
        reason = facts.first_void or _EDGE_MISSING
        found.append(
            f"{unused} of {facts.sweeps} sweeps are not used; the first reason:"
            f" {reason.rstrip('.')}."
        )
    if facts.chattering:
        found.append(
            f"The output chattered in {facts.chattering} of {facts.usable} sweeps, with"
            f" {facts.extra_edges} edges too many; the first edge each way is taken."
        )
    if facts.other_edges_taken:
        found.append(
            "In some sweeps the edges taken are not the first to the expected level;"
            " the output may be declared the wrong way round."
        )
    return found


def _about_the_corrections(facts: RunFacts) -> list[str]:
    found = []
    if facts.datums > 1:
        found.append(
            f"The sweeps were taken under {facts.datums} datums, the run having been"
            " taken up again; what the datums differ by is part of the scatter."
        )
    stated_mm = facts.backlash_not_measured_mm
    if stated_mm is not None:
        stated = (
            f"; only a stated {1000.0 * stated_mm:.1f} µm stands in the budget"
            if stated_mm > 0.0
            else ", and their uncertainty leaves it out"
        )
        found.append(
            "Backlash was not measured: it is in the release point and in the"
            f" differential travel in full{stated}."
        )
    return found


def _about_the_delay(facts: RunFacts) -> list[str]:
    speed = facts.single_speed_mm_s
    if speed is None:
        return []
    frequency = facts.switching_frequency_hz
    bound = (
        f"the data sheet's {frequency:g} Hz bounds it, and that bound is in the budget"
        if frequency is not None
        else "no bound on it is known, and the uncertainty leaves it out"
    )
    return [
        f"All sweeps ran at {speed:g} mm/s, so the switching delay is not removed: the"
        " operate point reads small, the release point and the differential travel read"
        f" large; {bound}."
    ]
