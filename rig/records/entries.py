"""What the records hand out besides the shared model: summaries, plans, filters."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from rig.model.attempts import Attempt, AttemptEnd
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.sweeps import Timetable


def make_run_id(now: datetime, source: random.Random) -> str:
    """Make an identity that sorts by time: ``20261125-093412-512-7f3a``.

    Args:
        now: Time of start by the wall clock; aware. The clock of a simulated rig
            restarts with it and would give the same identity again.
        source: Source of the last four digits, which tell runs of one millisecond
            apart; `random.SystemRandom()` unless a test wants it repeatable.

    Raises:
        ValueError: `now` has no time zone.
    """
    if now.tzinfo is None:
        raise ValueError("a time in the records needs a time zone")
    utc = now.astimezone(UTC)
    millisecond = utc.microsecond // 1000
    return f"{utc:%Y%m%d-%H%M%S}-{millisecond:03d}-{source.getrandbits(16):04x}"


class PlanState(StrEnum):
    """How far a plan has come."""

    RUNNING = "running"
    STOPPED = "stopped"
    DONE = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanItem:
    """One run that a plan asks for.

    Attributes:
        index: Place in the plan, from 0.
        sensor: Sensor as it was when the plan began.
        target: Target as it was when the plan began.
        sweeps_wanted: Number of good sweeps.
        speeds_mm_s: Speeds that the sweeps go through in turn.
        part: Serial or sample number of the sensor; empty if the plan names none.
        timetable: When the sweeps are due; None for one after another.
    """

    index: int
    sensor: Sensor
    target: Target
    sweeps_wanted: int
    speeds_mm_s: tuple[float, ...]
    part: str = ""
    timetable: Timetable | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanEntry:
    """A plan as the records keep it.

    Attributes:
        plan_id: Identity, sorts by time of start.
        title: What the user calls it.
        toml_text: The plan's file as it was read; never altered.
        created_at: When it began, UTC.
        simulated: Whether it is carried out on a simulated rig.
        items: The runs, in order.
        state: How far it has come.
        for_verdict: Whether its runs end as soon as their verdicts are clear.
    """

    plan_id: str
    title: str
    toml_text: str
    created_at: datetime
    simulated: bool
    items: tuple[PlanItem, ...]
    state: PlanState = PlanState.RUNNING
    for_verdict: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """A run without its edges: cheap to list.

    Attributes:
        run_id: Identity.
        sensor: Name of the sensor.
        target: Name of the target.
        material: Material of the target.
        simulated: Whether the rig said that it is simulated.
        started_at: UTC.
        ended_at: UTC; None while it is going on or when it was cut short.
        sweeps_wanted: Number of good sweeps asked for.
        good_sweeps: Sweeps on record that are not void.
        void_sweeps: Sweeps on record that are.
        void: Empty, or why the whole run is not to be used.
        plan_id: Empty for a single run.
        plan_item: -1 for a single run.
        part: Serial or sample number; empty if nobody gave it.
        home_shift_steps: Steps by which the home switch moved; None if unchecked.
        home_repeatability_mm: Standard deviation of the place at which that switch
            closes; None if nobody repeated it.
        sequence: Place in the order in which runs and attempts were put on record; 0 in
            earlier records that are only read.
    """

    run_id: str
    sensor: str
    target: str
    material: str
    simulated: bool
    started_at: datetime
    ended_at: datetime | None
    sweeps_wanted: int
    good_sweeps: int
    void_sweeps: int
    void: str
    plan_id: str
    plan_item: int
    part: str = ""
    home_shift_steps: int | None = None
    home_repeatability_mm: float | None = None
    sequence: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemProgress:
    """What is on record for one item of a plan.

    Attributes:
        item: What is wanted.
        runs: Runs made for it, oldest first, void ones among them.
        attempts: Attempts at it, oldest first; none in records from before they were
            kept.
    """

    item: PlanItem
    runs: tuple[RunSummary, ...]
    attempts: tuple[Attempt, ...] = ()

    @property
    def counting(self) -> RunSummary | None:
        """The run that counts: the latest that ended and is not void; None for none."""
        ended = [run for run in self.runs if run.ended_at and not run.void]
        return ended[-1] if ended else None

    @property
    def without_figures(self) -> AttemptEnd | None:
        """How the pair ended without figures, if it would again; None otherwise."""
        end = self.attempts[-1].end if self.attempts else None
        if self.counting is not None or end is None or not end.outcome.recurs:
            return None
        return end

    @property
    def settled(self) -> bool:
        """Whether the pair has a run that counts, or has shown that it gives none."""
        return self.counting is not None or self.without_figures is not None

    def to_resume(self, *, again: bool = False) -> RunSummary | None:
        """Return the run that was cut short and is to be resumed; None for a new one.

        Args:
            again: Whether the item is measured again although a run counts already.
        """
        usable = [run for run in self.runs if not run.void]
        if not usable or usable[-1].ended_at is not None:
            return None
        return usable[-1] if again or self.counting is None else None

    @property
    def cut_repeat(self) -> RunSummary | None:
        """A repeat that was cut off beside the run that counts; None for none."""
        return None if self.counting is None else self.to_resume(again=True)

    @property
    def good_sweeps(self) -> int:
        """Good sweeps of the run that counts, or else of the one to be resumed."""
        run = self.counting or self.to_resume()
        return 0 if run is None else run.good_sweeps

    @property
    def missing_sweeps(self) -> int:
        """Good sweeps that are still to be made."""
        if self.settled:
            return 0
        return max(0, self.item.sweeps_wanted - self.good_sweeps)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFilter:
    """Which runs to list; a field left alone admits every run.

    Attributes:
        run_ids: Identities of the only runs to list.
        sensor: Name of the sensor.
        target: Name of the target.
        part: Serial or sample number.
        plan_id: Runs of this plan.
        simulated: Only simulated runs, or only real ones.
        since: Started at this time or later.
        until: Started before this time.
        newest: Largest number of runs to list, the newest of them.
    """

    run_ids: tuple[str, ...] | None = None
    sensor: str | None = None
    target: str | None = None
    part: str | None = None
    plan_id: str | None = None
    simulated: bool | None = None
    since: datetime | None = None
    until: datetime | None = None
    newest: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Computation:
    """One computation of a run's figures; a later one never replaces it.

    Attributes:
        run_id: Identity of the run that the figures belong to.
        figures: The figures, with the version of the analysis that made them.
        software_version: Version of the software that made them.
        computed_at: UTC.
    """

    run_id: str
    figures: RunFigures
    software_version: str
    computed_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCheck:
    """A run on record against what was written.

    Attributes:
        run_id: Identity of the run.
        stored: Checksum of its edges from the end of the run; empty if it never ended.
        computed: Checksum of the edges that are on record now.
        changes: What is not as it was written, in words.
    """

    run_id: str
    stored: str
    computed: str
    changes: tuple[str, ...] = ()

    @property
    def intact(self) -> bool | None:
        """Whether it is as it was; None for one that has not ended, as far as it is."""
        if self.changes:
            return False
        return True if self.stored else None

    @property
    def sentence(self) -> str:
        """What was changed; empty for nothing."""
        if not self.changes:
            return ""
        first, *others = self.changes
        more = f", and {len(others)} more" if others else ""
        return f"run {self.run_id} was changed after it was recorded: {first}{more}"
