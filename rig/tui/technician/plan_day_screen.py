"""A plan pair by pair: mount, measure, repeat, skip, stop, go on; its results."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.widgets import DataTable, Static

from rig.catalogue.plan_file import Plan, parse_plan
from rig.errors import InputError, RigError
from rig.link.traits import RigTraits
from rig.procedures.events import RunBegan, SweepEnded
from rig.procedures.rounds import Visit
from rig.tui.frame.framed_screen import VERTICAL_BREAKPOINTS
from rig.tui.frame.mount_prompt import Answer, MountPrompt
from rig.tui.frame.resting_cursor import RestingCursor
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.bench_job import Mount
from rig.tui.rig.rig_events import Done, Failed, ProcedureReported, Reading, RigEvent
from rig.tui.state.keys import REPEAT, REPORT, START, START_SHOWN, START_WORD, bound
from rig.tui.state.places import Place, PlaceKind
from rig.tui.state.report_files import write_plan_report
from rig.tui.state.situation import LinkState, Situation
from rig.tui.technician.dead_pair_question import AfterDeadPair, DeadPairQuestion
from rig.tui.technician.plan_job import BeginPlan, MeasurePair, PlanBegan
from rig.tui.technician.plan_state import PlanStanding, not_begun, on_record
from rig.tui.technician.run_screen import RunScreen
from rig.tui.technician.run_sections import RunFacts, read_facts
from rig.tui.technician.run_verdict import run_banner
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.pair_table import PairTable
from rig.tui.widgets.progress_line import ProgressLine
from rig.tui.widgets.verdict_panel import VerdictPanel


class PlanDay(WorkScreen):
    """Work through one plan."""

    HEADING = "Plan"
    AUTO_FOCUS = "#pairs"
    VERTICAL_BREAKPOINTS = VERTICAL_BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "start",
            START_WORD,
            id="pair.start",
            tooltip="Ask for the next pair to be mounted, then measure it",
        ),
        bound(
            REPEAT, "again", "Repeat", id="pair.redo", tooltip="Measure a pair again"
        ),
        bound(
            "delete",
            "skip",
            "Skip",
            id="pair.skip",
            key_display="Del",
            tooltip="Leave a pair out today, or not",
        ),
        bound(
            "f", "figures", "Figures", id="pair.figures", tooltip="Open the pair's run"
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="plan.report",
            show=False,
            tooltip="Write the plan's report",
        ),
        bound(
            "insert",
            "anew",
            "Begin again",
            id="plan.anew",
            show=False,
            tooltip="Begin this plan once more",
        ),
        bound("escape", "app.pop_screen", "Back", id="plan.back"),
    ]

    def __init__(self, *, plan: Plan | None = None, plan_id: str = "") -> None:
        super().__init__()
        self._plan_id = plan_id
        self._plan = plan
        self._standing = PlanStanding(title="") if plan is None else not_begun(plan)
        self._after: int | None = None
        self._failed: Visit | None = None
        self._begin_with: tuple[Visit, str] | None = None
        self._reckoned_for: RigTraits | None = None
        self._verdict_of = ""
        self._resting = RestingCursor(self, self._look_closer)

    def compose_body(self) -> ComposeResult:
        """Yield the pairs, the progress and the motion."""
        with Container(id="plan-job"):
            with Vertical(id="plan-pairs"):
                yield PairTable(id="pairs")
                yield Static("", id="pair-detail")
                yield VerdictPanel(id="pair-verdict")
                yield ProgressLine(id="plan-progress")
            yield MotionView(id="plan-motion")

    def opened(self) -> None:
        """Read how far it is."""
        self._read()

    @property
    def place(self) -> Place | None:
        """The plan, once it is on record."""
        if not self._plan_id:
            return None
        return Place(PlaceKind.PLAN, self._plan_id)

    # ------------------------------------------------------------------- showing

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        standing = self._standing
        if standing.done and standing.cut_repeats:
            pair = standing.cut_repeats[0] + 1
            return f"All pairs have figures; the repeat of pair {pair} was cut off: r."
        if standing.done:
            return "All pairs are done. Ctrl+O writes the report, f opens a pair's run."
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect first, then F6 leads back here."
        due = standing.next_due()
        if due is None:
            return "The rest is skipped for today. Delete takes a pair in again."
        begun = standing.entry is not None
        number = due.item.index + 1
        what = f"resumes with pair {number}" if begun else "begins with the first pair"
        return f"{START_SHOWN} {what}. Escape leaves the rest for another time."

    def show(self, now: Situation) -> None:
        """Show pairs, progress and motion."""
        if now.traits != self._reckoned_for:
            self._read()
        self.query_one(PairTable).show_pairs(self._standing.rows())
        self.query_one(ProgressLine).progress = self._standing.bar()
        self._show_detail()
        self.set_class(now.moving, "-watching")
        self._show_verdict()
        self.query_one(MotionView).show(now)

    @on(DataTable.RowHighlighted)
    def _show_detail(self) -> None:
        index = self.query_one(PairTable).cursor_row
        self.put("#pair-detail", self._standing.detail(index))
        self._resting.moved()

    def _run_under_cursor(self) -> str:
        index = self.query_one(PairTable).cursor_row
        there = 0 <= index < len(self._standing.progress)
        return self._standing.run_id(index) if there else ""

    def _look_closer(self) -> None:
        """Show the verdict on the pair under the cursor, where its run has one."""
        run_id = self._run_under_cursor()
        if run_id and run_id != self._verdict_of:
            self._read_verdict(run_id)
        self._show_verdict()

    @work(thread=True, exclusive=True, exit_on_error=False, group="verdict")
    def _read_verdict(self, run_id: str) -> None:
        try:
            facts = read_facts(self.app.records(), run_id)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take_verdict, run_id, facts)

    def _take_verdict(self, run_id: str, facts: RunFacts) -> None:
        if run_id == self._run_under_cursor():
            self._verdict_of = run_id
            self.query_one(VerdictPanel).banner = run_banner(facts)
            self._show_verdict()

    def _show_verdict(self) -> None:
        """Show the verdict on the pair under the cursor while nothing moves."""
        there = self._verdict_of and self._verdict_of == self._run_under_cursor()
        self.set_class(bool(there) and not self.app.situation.moving, "-verdict")

    def show_reading(self, reading: Reading | None) -> None:
        """Move the target."""
        self.query_one(MotionView).show_reading(self.app.situation, reading)

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the pairs, the cursor on the next one."""
        self.query_one(PairTable).focus()

    def _read(self) -> None:
        self._reckoned_for = self.app.situation.traits
        if self._plan_id:
            self._read_records(self._reckoned_for)

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read_records(self, traits: RigTraits | None) -> None:
        try:
            found = on_record(self._plan_id, self.app.records(), traits)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: PlanStanding) -> None:
        before = self._standing
        self._standing = replace(
            found, skipped=before.skipped, measuring=before.measuring, good=before.good
        )
        self.show_again()
        after, self._after = self._after, None
        failed, self._failed = self._failed, None
        due = self._standing.next_due(-1 if after is None else after)
        if due is not None:
            self.query_one(PairTable).move_cursor(row=due.item.index)
        if self._begin_with is not None:
            visit, part = self._begin_with
            self._begin_with = None
            if self.is_current:
                self._go(visit, part)
        elif after is not None and due is not None:
            self._ask_to_mount(due)
        elif failed is not None and self._is_dead(failed) and self.is_current:
            self._ask_about_dead_pair(failed)

    # ------------------------------------------------------------ without figures

    def _is_dead(self, visit: Visit) -> bool:
        """Whether a pair has shown that it gives no figures."""
        return self._standing.progress[visit.item.index].without_figures is not None

    @work(exclusive=True, group="consent")
    async def _ask_about_dead_pair(self, visit: Visit) -> None:
        """Measure it again, go on or stop, as somebody says."""
        index, item = visit.item.index, visit.item
        due = self._standing.next_due(after=visit.place)
        what = f"{item.sensor.name} against {item.target.name}"
        question = DeadPairQuestion(
            f"Pair {index + 1} of {len(self._standing.progress)}, {what},",
            self._standing.seen(index),
            more=due is not None,
        )
        answer = await self.app.push_screen_wait(question)
        if answer is AfterDeadPair.STOP:
            return
        if answer is AfterDeadPair.AGAIN:
            self._ask_to_mount(self._standing.visit_of(index))
        elif due is not None:
            self._ask_to_mount(due)

    # ----------------------------------------------------------------- measuring

    @on(DataTable.RowSelected)
    def _chosen(self, event: DataTable.RowSelected) -> None:
        visit: Visit | None = self._standing.visit_of(event.cursor_row)
        if self._standing.run_id(event.cursor_row):
            visit = self._standing.next_due()
        if visit is None:
            self.action_figures()
        else:
            self._measure(visit)

    def action_start(self) -> None:
        """Ask for the next pair."""
        due = self._standing.next_due()
        if due is not None:
            self._measure(due)

    def action_again(self) -> None:
        """Measure the pair under the cursor, whether it is done or not."""
        index = self.query_one(PairTable).cursor_row
        if self._standing.progress:
            self._measure(self._standing.visit_of(index))

    def _measure(self, visit: Visit) -> None:
        now = self.app.situation
        if now.link is not LinkState.LIVE:
            self.app.show_problem(
                InputError("no rig is connected", hint="F2 goes to the rig")
            )
        elif now.under_way is None and self._standing.measuring is None:
            self._ask_to_mount(visit)

    @work(exclusive=True, group="consent")
    async def _ask_to_mount(self, visit: Visit) -> None:
        self.query_one(PairTable).move_cursor(row=visit.item.index)
        said = await self.app.push_screen_wait(self._prompt(visit))
        if said.answer is Answer.START:
            self._begin(visit, said.part)
        elif said.answer is Answer.SKIP:
            self._leave_out(visit.item.index)
            due = self._standing.next_due(after=visit.place)
            if due is not None:
                self._ask_to_mount(due)

    def _prompt(self, visit: Visit) -> MountPrompt:
        progress, item = self._standing.progress, visit.item
        begun = progress[item.index].to_resume(again=visit.again)
        return MountPrompt(
            visit,
            count=len(progress),
            good=0 if begun is None else begun.good_sweeps,
            part=item.part or ("" if begun is None else begun.part),
            offered=self.app.particulars.part,
            simulated=self.app.situation.simulated,
        )

    def _begin(self, visit: Visit, part: str) -> None:
        """Put the plan on record if it is not yet, then measure."""
        if self._standing.entry is None and self._plan is not None:
            self._begin_with = (visit, part)
            self.ask(BeginPlan(plan=self._plan))
        else:
            self._go(visit, part)

    def _go(self, visit: Visit, part: str) -> None:
        standing, entry = self._standing, self._standing.entry
        if entry is None:
            return
        item = visit.item
        self._standing = replace(
            standing,
            measuring=item.index,
            good=0,
            skipped=standing.skipped - {item.index},
        )
        self.ask(Mount(sensor=item.sensor, target=item.target, part=part))
        self.ask(
            MeasurePair(
                entry=entry,
                visit=visit,
                particulars=replace(self.app.particulars, part=part),
            )
        )

    def hear(self, event: RigEvent) -> None:
        """Follow the pair that is measured; ask for the next one when it is done."""
        match event:
            case PlanBegan(entry=entry) if self._begin_with and not self._plan_id:
                self._plan_id = entry.plan_id
                self.remember_place()
                self._read()
            case ProcedureReported() if self._standing.measuring is None:
                return
            case ProcedureReported(event=RunBegan(good=good)):
                self._standing = replace(self._standing, good=good)
            case ProcedureReported(
                event=SweepEnded(good=good, plan_seconds_left=left_s)
            ):
                self._standing = replace(self._standing, good=good, seconds_left=left_s)
                self.show_soon()
                return
            case Done(job=MeasurePair(entry=entry, visit=visit)):
                self._ended(entry.plan_id, visit)
            case Failed(job=BeginPlan()):
                self._begin_with = None
            case Failed(job=MeasurePair(entry=entry, visit=visit)):
                self._failed = visit if self.is_current else None
                self._ended(entry.plan_id, None)
            case _:
                return
        if self.is_current:
            self.show_again()

    def _ended(self, plan_id: str, visit: Visit | None) -> None:
        if plan_id != self._plan_id:
            return
        self._standing = replace(self._standing, measuring=None, good=0)
        if visit is not None and self.is_current:
            # Asked for once the records are read; not while somebody is elsewhere
            self._after = visit.place
        self._read()

    # ------------------------------------------------------------------ the rest

    def action_skip(self) -> None:
        """Leave the pair under the cursor out today, or take it in again."""
        index = self.query_one(PairTable).cursor_row
        if self._standing.progress and not self._standing.run_id(index):
            self._leave_out(index)

    def _leave_out(self, index: int) -> None:
        skipped = self._standing.skipped ^ {index}
        self._standing = replace(self._standing, skipped=skipped)
        self.show_again()

    def action_figures(self) -> None:
        """Open the run of the pair under the cursor."""
        index = self.query_one(PairTable).cursor_row
        run_id = self._standing.run_id(index) if self._standing.progress else ""
        if run_id:
            self.app.push_screen(RunScreen(run_id))
        else:
            self.app.show_problem(InputError("this pair has no figures yet"))

    def action_anew(self) -> None:
        """Begin this plan once more; what was measured for it before stays."""
        entry = self._standing.entry
        if entry is None or self._standing.measuring is not None:
            return
        try:
            plan = parse_plan(entry.toml_text, entry.title, self.app.catalogue)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        self.app.switch_screen(PlanDay(plan=plan))

    def action_report(self) -> None:
        """Write the report of what is done."""
        pairs = range(len(self._standing.progress))
        if any(self._standing.run_id(index) for index in pairs):
            self._write_report()
        else:
            self.app.show_problem(InputError("nothing of this plan is done yet"))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _write_report(self) -> None:
        write_plan_report(self.app, self._plan_id)
