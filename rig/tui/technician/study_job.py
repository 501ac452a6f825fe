"""What the screens of studies ask for: lay one out, enter a reading, measure a row."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import ClassVar

from rig.errors import InputError, RigError
from rig.inquiry.study import StudyOrder, begin_study
from rig.inquiry.study_state import enter_reading
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.run_order import RunOrder
from rig.procedures.study_rows import measure_rows
from rig.records.studies import StudyRow
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import News


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyNews(News):
    """Something about a study has gone on record.

    Attributes:
        study_id: Identity of the study.
        without: Row, part and why there are no figures, in words; empty otherwise.
    """

    study_id: str
    without: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginStudy(Job):
    """Lay a study out, and put it on record."""

    DOING: ClassVar[str] = "putting the study on record"
    order: StudyOrder

    def carry_out(self, access: RigAccess) -> None:
        """Begin it."""
        entry = begin_study(access.records(), self.order, datetime.now(UTC))
        access.post(StudyNews(study_id=entry.study_id))


@dataclass(frozen=True, slots=True, kw_only=True)
class EnterReading(Job):
    """Put a reading that somebody typed on record.

    Attributes:
        study_id: Identity of the study.
        row: Number of the row.
        value: Reading in the unit of the study.
    """

    DOING: ClassVar[str] = "putting the reading on record"
    study_id: str
    row: int
    value: float

    def carry_out(self, access: RigAccess) -> None:
        """Enter it."""
        store = access.records()
        enter_reading(store, self.study_id, self.row, self.value, datetime.now(UTC))
        access.post(StudyNews(study_id=self.study_id))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureStudyRow(Job):
    """Touch off and sweep the part of the row that is due next; it must be mounted.

    Attributes:
        study_id: Identity of the study.
        row: Row that was asked for.
        order: How to measure; part, operator and note come from the row.
    """

    DOING: ClassVar[str] = "measuring a row of the study"
    MOVES: ClassVar[bool] = True
    study_id: str
    row: StudyRow
    order: RunOrder

    def carry_out(self, access: RigAccess) -> None:
        """Measure it, and enter the figure as the reading."""
        rig, order = access.rig(), self.order
        access.check_mounted(order.sensor, order.target)

        def measure(row: StudyRow, note: str) -> tuple[Run, RunFigures]:
            if row != self.row:
                raise InputError(
                    f"row {self.row.order} was asked for, but row {row.order} is due",
                    hint="look at the study again: somebody else has entered readings",
                )
            if rig.simulation is not None:
                rig.simulation.mount(order.sensor, order.target, part=row.part)
            # Another part has its face elsewhere
            access.set_bench(None)
            context = access.run_context()
            wanted = replace(order, operator=row.appraiser, part=row.part, note=note)
            result = touch_off_and_run(wanted, context)
            access.set_bench(result.bench)
            return result.run, result.figures

        def tell(row: StudyRow, why: RigError) -> None:
            words = f"Row {row.order}, part {row.part}: {why}."
            access.post(StudyNews(study_id=self.study_id, without=words))

        measure_rows(access.records(), self.study_id, 1, measure, tell)
        access.post(StudyNews(study_id=self.study_id))
