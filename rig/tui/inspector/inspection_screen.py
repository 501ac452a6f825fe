"""The inspector's second screen: part after part, then the decision."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from rig.analysis.acceptance.sequential import Outlook
from rig.analysis.limits.verdict import Decision
from rig.errors import InputError, RigError
from rig.inquiry.deciding_figure import deciding_figure_of_part
from rig.inquiry.lot import LotStanding
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.model.mounted import Sensor, Target
from rig.model.part_number import part_so_far
from rig.procedures.motions_ahead import in_brief, touch_off_and_run_ahead
from rig.procedures.run_order import RunOrder
from rig.records.lot_entries import LotPart
from rig.sheets.lot_sheet import lot_head
from rig.tui.frame.document_form import DocumentForm
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.by_sight_screen import BySight
from rig.tui.inspector.lot_dialogs import (
    ask_decision,
    ask_grounds,
    ask_signature,
    ask_withdrawal,
    needs_grounds,
)
from rig.tui.inspector.lot_job import (
    DecideLot,
    InspectPart,
    JudgeBySight,
    LotNews,
    SignLot,
    WithdrawLot,
)
from rig.tui.inspector.lot_lines import head_line, outlook_line
from rig.tui.inspector.lot_trail_screen import LotTrailScreen
from rig.tui.pictures.interval import Interval
from rig.tui.rig.bench_job import Mount
from rig.tui.rig.rig_events import Reading, RigEvent
from rig.tui.state.document_files import DocumentWish, write_certificate
from rig.tui.state.keys import (
    CERTIFY,
    RECORD,
    REPORT,
    START,
    START_SHOWN,
    START_WORD,
    TRAIL,
    UNDO,
    WRITE,
    bound,
)
from rig.tui.state.places import Place, PlaceKind
from rig.tui.state.report_files import write_lot_report
from rig.tui.state.situation import LinkState, Situation
from rig.tui.state.typed_order import typed_order
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.part_table import PartTable
from rig.tui.widgets.sample_strip import sample_strip
from rig.tui.widgets.tick_box import TickBox
from rig.tui.widgets.verdict_interval import interval_of
from rig.tui.widgets.verdict_panel import (
    Banner,
    VerdictPanel,
    lot_banner,
    part_banner,
)

_STANDARD_TARGET = "steel"
_TICK = "Undecided ones count as nonconforming, as agreed"
_TICK_BY_VARIABLES = "If undecided, the lot is not accepted, as agreed"
_WHILE_OPEN = ("measure", "by_sight", "again", "record", "withdraw")
# Lines from which a class is set on the screen
_VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-high")]


class InspectionScreen(WorkScreen):
    """Scan, mount, start, read the verdict; at the end decide.

    Args:
        standing: Where the lot stands.
    """

    HEADING = "Inspection"
    AUTO_FOCUS = None
    CSS_PATH = "inspection_screen.tcss"
    VERTICAL_BREAKPOINTS = _VERTICAL_BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "measure",
            START_WORD,
            id="part.measure",
            tooltip="Part mounted, way free, hands away: touch off and measure it",
        ),
        bound(
            "up",
            "again",
            "Again",
            id="part.again",
            key_display="↑",
            tooltip="Offer the last part again; its last reading counts",
        ),
        bound(
            WRITE,
            "by_sight",
            "Sight",
            id="part.by-sight",
            tooltip="Judge the part by what is seen of it",
        ),
        bound(
            RECORD,
            "record",
            "Record",
            id="lot.record",
            tooltip="Ask for the decision about the lot, to be put on record",
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="lot.report",
            tooltip="Write the report of the lot",
        ),
        bound(
            CERTIFY,
            "certificate",
            "Certify",
            id="lot.certificate",
            tooltip="Issue a certificate of one page for the decided lot",
        ),
        bound(
            RECORD,
            "sign",
            "Sign",
            id="lot.sign",
            tooltip="Sign the lot: who, what it means, and the PIN",
        ),
        bound(
            TRAIL,
            "trail",
            "Trail",
            id="lot.trail",
            tooltip="Show who changed what of the lot, when and why",
        ),
        bound(
            UNDO,
            "withdraw",
            "Withdraw",
            id="lot.withdraw",
            show=False,
            tooltip="Withdraw a lot that was begun by mistake; it stays on record",
        ),
        bound("escape", "app.pop_screen", "Back", id="lot.back"),
    ]

    def __init__(self, standing: LotStanding) -> None:
        super().__init__()
        self._standing = standing
        self._head = lot_head(standing)
        # Grounds on which a part is inspected again, by its number
        self._grounds: dict[str, Grounds] = {}
        # A part and the figure that decided about it
        self._interval: tuple[LotPart | None, Interval | None] = (None, None)

    def compose_body(self) -> ComposeResult:
        """Yield the lot, its sample, the verdict, and what to mount next."""
        yield Static("", id="lot-head")
        yield Static("", id="lot-sample")
        with Horizontal(id="lot-verdict-row"):
            with Vertical(id="lot-verdict-side"):
                yield VerdictPanel(id="lot-verdict")
                with VerticalScroll(id="lot-reason-scroll", can_focus=False):
                    yield Static("", id="lot-reason")
                yield Static("", id="lot-outlook")
            yield PartTable(id="lot-parts")
        yield MotionView(id="lot-motion")
        with Horizontal(id="lot-row"):
            yield Static("Part", classes="name")
            yield Input("", id="lot-part", compact=True, max_length=60)
            yield Static("Sweeps", classes="name")
            yield Input("10", id="sweeps", compact=True, type="integer", max_length=5)
            yield Static("Speeds", classes="name")
            yield Input("1, 4", id="speeds", compact=True, max_length=30)
            yield Static("mm/s", classes="unit")
            yield TickBox("verdict only", value=True, id="verdict-only", compact=True)
        yield TickBox("steady: reduced agreed", id="steady", compact=True)
        yield Static("", id="lot-prompt")

    def opened(self) -> None:
        """Follow the app, and offer the next part."""
        self._offer_next()
        self._look_at_last()

    @property
    def place(self) -> Place:
        """The lot."""
        return Place(PlaceKind.LOT, self._standing.lot.lot_id)

    # ------------------------------------------------------------------- showing

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        standing = self._standing
        if standing.withdrawal is not None:
            return "It is withdrawn: F10 shows its trail, Escape leads back."
        if standing.decision is not None:
            return "Decided: Ctrl+O writes the report, Ctrl+R signs, F12 certifies."
        guide = standing.guidance
        if guide is not None and guide.stopping_costs:
            return "Measure on for the switching score, or Ctrl+R decides now."
        if self._certain():
            return "The decision is certain: Ctrl+R asks, then puts it on record."
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect first. Ctrl+L judges by sight."
        if self._complete():
            return f"Undecided parts remain: name one, more sweeps, {START_SHOWN}."
        return f"Scan and mount the part; hands and way clear: {START_SHOWN} starts."

    def show(self, now: Situation) -> None:
        """Show lot, sample, verdict and prompt."""
        standing, head = self._standing, self._head
        self.query_one("#lot-head", Static).update(head_line(head))
        width = max(40, self.size.width - 4)
        strip = sample_strip(head, width)
        if head.simulated:
            strip = Content.assemble(
                (" SIMULATED ", "bold reverse $warning"), "  ", strip
            )
        self.query_one("#lot-sample", Static).update(strip)
        self.query_one(PartTable).show_parts(head.parts)
        self.set_class(isinstance(now.under_way, InspectPart), "-watching")
        self.query_one(MotionView).show(now)
        banner = self._banner(now)
        self.query_one(VerdictPanel).banner = banner
        self.put("#lot-reason", banner.reason)
        self.query_one("#lot-outlook", Static).update(outlook_line(head))
        self.query_one("#lot-prompt", Static).update(self._prompt(now))
        self.query_one("#steady").display = standing.near_reduced
        for name in ("lot-part", "sweeps", "speeds", "verdict-only"):
            self.query_one(f"#{name}").disabled = standing.closed or now.moving
        self.refresh_bindings()

    def show_reading(self, reading: Reading | None) -> None:
        """Move the target."""
        self.query_one(MotionView).show_reading(self.app.situation, reading)

    def _banner(self, now: Situation) -> Banner:
        head = self._head
        if head.outcome.decided:
            return lot_banner(head.outcome)
        if isinstance(now.under_way, InspectPart):
            part = now.under_way.order.part
            return Banner(word=f"PART {part}", reason=f"{now.doing}.")
        if not head.parts:
            return Banner(word="PART 1", reason="Nothing is measured yet.")
        index = self._last_index()
        of, interval = self._interval
        read = interval if of is self._standing.parts[index] else None
        return part_banner(head.parts[index], read)

    @work(thread=True, exclusive=True, exit_on_error=False, group="interval")
    def _read_interval(self, part: LotPart) -> None:
        """Read which figure decided about a part, to show it against its limits."""
        try:
            found = deciding_figure_of_part(
                self.app.records(), self._standing.terms, part
            )
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        if found is not None:
            self.hand_over(self._take_interval, part, interval_of(found))

    def _take_interval(self, part: LotPart, interval: Interval) -> None:
        self._interval = (part, interval)
        self.show_again()

    def _look_at_last(self) -> None:
        if self._standing.parts and not self._standing.closed:
            self._read_interval(self._standing.parts[self._last_index()])

    def _prompt(self, now: Situation) -> Content:
        if self._standing.closed:
            return Content.assemble(("▸ ", "bold $primary"), self._head.outcome.after)
        if isinstance(now.under_way, InspectPart):
            part = now.under_way.order.part
            return Content.assemble(
                ("▸ ", "bold $primary"), f"Part {part} is being measured."
            )
        sensor, target = self._wanted(now)
        part = self._part()
        if self._must_ask(part):
            return Content.assemble(
                ("▸ ", "bold $primary"),
                (f"Part {part} was inspected.", "bold"),
                f" {START_SHOWN} asks first why it is inspected again.",
            )
        what = f"Mount part {part} ({sensor.name}), target {target.name}."
        return Content.assemble(
            ("▸ ", "bold $primary"),
            (what, "bold"),
            f" {START_SHOWN}: mounted, way and hands clear."
            f"\nIt {in_brief(touch_off_and_run_ahead())}.",
        )

    def take_focus(self, now: Situation) -> None:
        """Put the focus in the field for the part, where scans belong."""
        field = self.part_field()
        (field if field.focusable else self.query_one(PartTable)).focus()

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#lot-part", Input)

    def _part(self) -> str:
        return part_so_far(self.part_field().value)

    @on(Input.Changed, "#lot-part")
    def _part_typed(self) -> None:
        prompt = self._prompt(self.app.situation)
        self.query_one("#lot-prompt", Static).update(prompt)

    def hear(self, event: RigEvent) -> None:
        """Take what became of a part or of the lot."""
        lot_id = self._standing.lot.lot_id
        if isinstance(event, LotNews) and event.standing.lot.lot_id == lot_id:
            self._standing = event.standing
            self._head = lot_head(event.standing)
            self._grounds.clear()
            self._look_at_last()
            if self.is_current:
                self._offer_next()
                self.show_again()
                self.take_focus(self.app.situation)

    def _offer_next(self) -> None:
        """Write the number of the next part into its field."""
        undecided = [
            one.part
            for one in self._standing.parts
            if _open(one.decision) and self._standing.may_repeat(one.part)
        ]
        if self._complete() and undecided:
            number = undecided[0]
        else:
            known = {part.part for part in self._standing.parts}
            count = len(known) + 1
            while str(count) in known:
                count += 1
            number = str(count)
        self.part_field().value = number

    # ------------------------------------------------------------------- claims

    def _last_index(self) -> int:
        """Return the place of the part that was read last."""
        parts = self._standing.parts
        return max(range(len(parts)), key=lambda index: parts[index].entered_at)

    def _complete(self) -> bool:
        return len(self._standing.parts) >= self._standing.sample

    def _certain(self) -> bool:
        found = self._standing.guidance
        return self._complete() if found is None else found.outlook is not Outlook.OPEN

    def _may_count(self) -> bool:
        """Whether what is undecided may be all that is left."""
        if self._standing.guidance is None:
            return self._complete()
        undecided = any(_open(part.decision) for part in self._standing.parts)
        return undecided and self._complete()

    def _tick(self) -> str:
        return _TICK if self._standing.guidance is not None else _TICK_BY_VARIABLES

    def _wanted(self, now: Situation) -> tuple[Sensor, Target]:
        """Return what is to be mounted: the product if the catalogue knows it."""
        catalogue = self.app.catalogue
        product = self._standing.lot.product
        sensor = catalogue.sensors.get(product) or now.sensor
        if sensor is None:
            sensor = next(iter(catalogue.sensors.values()))
        target = now.target or catalogue.target(_STANDARD_TARGET)
        return sensor, target

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        now, standing = self.app.situation, self._standing
        if action in _WHILE_OPEN and standing.closed:
            return False
        if action in ("report", "certificate"):
            return standing.decision is not None
        if action == "sign":
            return standing.closed
        free = not now.moving
        if action == "withdraw":
            return free or None
        if action == "measure":
            can = free and now.link is LinkState.LIVE and now.under_way is None
            return can or None
        if action == "by_sight":
            return free or None
        if action == "again":
            return (free and bool(standing.parts)) or None
        if action == "record":
            return (free and (self._certain() or self._may_count())) or None
        return True

    def why_not(self, action: str, now: Situation) -> InputError:
        """Say why what a key does cannot be done now."""
        if action == "record" and not now.moving:
            done, sample = len(self._standing.parts), self._standing.sample
            return InputError(
                f"the lot is not to be decided yet: {done} of {sample} parts inspected",
                hint=self.next_step(now),
            )
        if action == "again" and not now.moving:
            return InputError("no part of this lot was inspected yet")
        return super().why_not(action, now)

    # ------------------------------------------------------------------ actions

    def _must_ask(self, part: str) -> bool:
        """Whether nobody said yet why the part is inspected again."""
        return needs_grounds(self._standing, part) and part not in self._grounds

    @work(exclusive=True, group="grounds")
    async def _ask_before_measuring(self, part: str) -> None:
        await self._ask_grounds(part)

    async def _ask_grounds(self, part: str) -> None:
        """Ask why a part is inspected again, and keep it for when it is."""
        try:
            grounds = await ask_grounds(self.app, self._standing, part)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        if grounds is not None:
            self._grounds[part] = grounds
        self.show_again()

    def action_measure(self) -> None:
        """Touch the part off and measure it; first ask why one is inspected again."""
        part = self._part()
        if self._must_ask(part):
            self._ask_before_measuring(part)
            return
        now = self.app.situation
        sensor, target = self._wanted(now)
        try:
            order = self._order(sensor, target)
        except InputError as exc:
            self.app.show_problem(exc)
            return
        if (now.sensor, now.target) != (sensor, target):
            self.ask(Mount(sensor=sensor, target=target))
        self.ask(
            InspectPart(
                lot_id=self._standing.lot.lot_id,
                order=order,
                grounds=self._grounds.get(part, NO_GROUNDS),
            )
        )

    def action_again(self) -> None:
        """Offer the last part again."""
        self.part_field().value = self._standing.parts[self._last_index()].part
        self.show_again()

    @work(exclusive=True, group="by-sight")
    async def action_by_sight(self) -> None:
        """Judge the part by what is seen of it."""
        part = self._part()
        if self._must_ask(part):
            await self._ask_grounds(part)
            if self._must_ask(part):
                return
        judged = await self.app.push_screen_wait(BySight(part))
        if judged is not None:
            conforms, reason = judged
            self.ask(
                JudgeBySight(
                    lot_id=self._standing.lot.lot_id,
                    part=part,
                    conforms=conforms,
                    reason=reason,
                    grounds=self._grounds.get(part, NO_GROUNDS),
                )
            )

    @work(exclusive=True, group="decision")
    async def action_record(self) -> None:
        """Ask whether the decision about the lot goes on record."""
        box = self.query_one("#steady", TickBox)
        steady = box.display and box.value
        tick = self._tick() if self._may_count() else ""
        try:
            wish = await ask_decision(
                self.app, self._standing, tick=tick, steady=steady
            )
        except RigError as exc:
            self.app.show_problem(exc)
            return
        if wish is not None:
            self.ask(
                DecideLot(
                    lot_id=self._standing.lot.lot_id,
                    count_undecided=wish.count_undecided,
                    steady=steady,
                    person=wish.person,
                )
            )

    @work(exclusive=True, group="decision")
    async def action_sign(self) -> None:
        """Ask for a signature, and put it under the lot."""
        try:
            wish = await ask_signature(self.app, self._standing)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        if wish is not None:
            self.ask(
                SignLot(
                    lot_id=self._standing.lot.lot_id,
                    person=wish.person,
                    meaning=wish.meaning,
                    pin=wish.pin,
                )
            )

    @work(exclusive=True, group="decision")
    async def action_withdraw(self) -> None:
        """Ask why the lot is withdrawn, and withdraw it."""
        try:
            grounds = await ask_withdrawal(self.app, self._standing)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        if grounds is not None:
            lot_id = self._standing.lot.lot_id
            self.ask(WithdrawLot(lot_id=lot_id, grounds=grounds))

    def action_trail(self) -> None:
        """Show the trail of the lot."""
        self.app.push_screen(LotTrailScreen(self._head))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report of the lot as it stands."""
        write_lot_report(self.app, self._standing.lot.lot_id)

    @work(exclusive=True, group="certificate")
    async def action_certificate(self) -> None:
        """Ask what stands on the certificate of the lot, and issue it."""
        form = DocumentForm(f"Certificate of the lot of {self._head.name}")
        wish = await self.app.push_screen_wait(form)
        if wish is not None:
            self._issue(wish)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _issue(self, wish: DocumentWish) -> None:
        write_certificate(self.app, wish, "lot", self._standing.lot.lot_id)

    def _order(self, sensor: Sensor, target: Target) -> RunOrder:
        lot = self._standing.lot
        order = typed_order(
            sensor,
            target,
            sweeps=self.query_one("#sweeps", Input).value,
            speeds=self.query_one("#speeds", Input).value,
        )
        return replace(
            order,
            operator=lot.operator,
            part=self._part(),
            note=f"lot {lot.lot_id}",
            for_verdict=self.query_one("#verdict-only", TickBox).value,
        )


def _open(decision: str) -> bool:
    return decision == Decision.UNDECIDED.value
