"""The inspector's first screen: a lot that came, or one to resume."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, OptionList, Select, Static
from textual.widgets.option_list import Option

from rig.errors import InputError, RigError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_curve import chance_at_acceptable
from rig.inquiry.lot_order import LotOrder, plan_choices, terms_to_come
from rig.inquiry.operators import operators_on_record
from rig.inquiry.products import products_on_record
from rig.model.product import ProductVersion
from rig.records.lot_book import LotBook
from rig.sheets.lot_curve_sheet import chance_sentences
from rig.sheets.lot_plan_rows import plan_words, whole_sentence
from rig.sheets.lot_sheet import lot_head
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.lot_job import BeginLot, LotNews, OpenLot
from rig.tui.inspector.lot_lines import listed_line, order_text, plan_lines
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import RECORD, bound
from rig.tui.state.situation import Situation
from rig.tui.state.typed_numbers import typed_number
from rig.tui.widgets.number_field import NUMBER
from rig.tui.widgets.operator_field import OperatorField

_SHOWN = 50  # lots; older ones are found by the command line
_USUAL_AQL = 1.0
_USUAL_LEVEL = "II"
_USUAL_SAMPLING = "single"
_ZERO = "zero"
_UNSAVED = "a lot that is typed and not begun"


@dataclass(frozen=True, slots=True)
class _Field:
    name: str
    words: str
    unit: str = ""
    first: str = ""
    classes: str | None = None


_FIELDS = (
    _Field("product", "Product"),
    _Field("supplier", "Supplier"),
    _Field("size", "Lot size", first="90", classes=NUMBER),
    _Field("lower", "Lower limit", "mm", classes=NUMBER),
    _Field("upper", "Upper limit", "mm", classes=NUMBER),
)


class LotScreen(WorkScreen):
    """Begin a lot, or resume one that was begun."""

    HEADING = "Lot"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            RECORD,
            "record",
            "Record",
            id="lot.begin",
            tooltip="Ask whether the lot that is typed is to be begun",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._typed_order: LotOrder | None = None
        self._first: list[str] = []
        self._products: dict[str, ProductVersion] = {}

    def compose_body(self) -> ComposeResult:
        """Yield what to say of a lot, what follows, and those on record."""
        with Horizontal(id="lot-place"):
            with VerticalScroll(id="new-lot", classes="framed", can_focus=False) as new:
                new.border_title = "New lot"
                with Grid(id="lot-fields"):
                    for field in _FIELDS:
                        yield Static(field.words, classes="name")
                        if field.name == "product":
                            yield _listed_products()
                        yield Input(
                            field.first,
                            id=field.name,
                            compact=True,
                            classes=field.classes,
                        )
                        yield Static(field.unit, classes="unit")
                    yield Static("Inspector", classes="name")
                    yield OperatorField((), id="operator")
                    yield Static("", classes="unit")
                    choices = plan_choices()
                    yield Static("Sampling", classes="name")
                    yield _select("sampling", choices.samplings, _USUAL_SAMPLING)
                    yield Static("", classes="unit")
                    yield Static("Level, AQL", classes="name")
                    with Horizontal(id="level-and-aql"):
                        levels = dict.fromkeys(
                            (*choices.levels, *choices.verification_levels)
                        )
                        yield _select("level", tuple(levels), _USUAL_LEVEL)
                        aqls = tuple(f"{aql:g}" for aql in choices.aqls_percent)
                        yield _select("aql", aqls, f"{_USUAL_AQL:g}")
                    yield Static("%", classes="unit")
                yield Static("", id="sampling-plan")
                yield Button("Begin this lot …", id="begin", compact=True)
            with Vertical(id="old-lots"):
                known = OptionList(id="known-lots", classes="framed")
                known.border_title = "Lots on record: Enter resumes"
                yield known

    def opened(self) -> None:
        """Follow the app, and offer the first product."""
        self.query_one("#product", Input).value = next(iter(self.app.catalogue.sensors))
        self._first = self._all_typed()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self.query_one("#known-lots").has_focus:
            return "Enter resumes the lot that is marked. Tab: a new one."
        return "Fill in what came, Enter leads on; Ctrl+R asks, then begins with it."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on what changes with every lot, or on an open one."""
        self.query_one("#size", Input).focus()
        self._look_up_products()
        self._look_up_lots()
        self._look_up_plan()

    def hear(self, event: RigEvent) -> None:
        """Go to the parts once a lot is begun or found."""
        if isinstance(event, LotNews) and self.is_current:
            self._first = self._all_typed()
            self._note_unsaved()
            self.app.push_screen(InspectionScreen(event.standing))

    # ------------------------------------------------------------ what it is of

    @work(thread=True, exclusive=True, group="products", exit_on_error=False)
    def _look_up_products(self) -> None:
        try:
            found = products_on_record(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        in_force = {row.product: row.version for row in found.products if row.in_force}
        self.hand_over(self._take_products, in_force, bool(found.products))

    def _take_products(self, found: dict[str, ProductVersion], listed: bool) -> None:
        """Have a product chosen as soon as any are on record; before, a name typed."""
        choice = self.query_one("#listed-product", Select)
        choice.display = listed
        self.query_one("#product", Input).display = not listed
        if found == self._products:
            return
        self._products, before = found, choice.value
        choice.set_options([(one.title, name) for name, one in found.items()])
        if found:
            choice.value = before if before in found else next(iter(found))

    @property
    def _chosen_product(self) -> ProductVersion | None:
        return self._products.get(str(self.query_one("#listed-product", Select).value))

    @on(Select.Changed, "#listed-product")
    def _product_chosen(self) -> None:
        """Show what the product says of sampling; its limits are no field here."""
        product = self._chosen_product
        for name in ("lower", "upper"):
            field = self.query_one(f"#{name}", Input)
            field.disabled = product is not None
            if product is not None:
                field.value = ""
        sampling = None if product is None else product.specification.sampling
        for name in ("sampling", "level", "aql"):
            self.query_one(f"#{name}", Select).disabled = sampling is not None
        if sampling is not None:
            self.query_one("#sampling", Select).value = sampling.plan_kind
            if sampling.aql_percent is not None:
                self.query_one("#aql", Select).value = f"{sampling.aql_percent:g}"
            if sampling.level:
                self.query_one("#level", Select).value = sampling.level

    # ------------------------------------------------------------ what is typed

    @on(Input.Changed)
    @on(Select.Changed)
    def _typed(self) -> None:
        self._look_up_plan()
        self._note_unsaved()

    def _all_typed(self) -> list[str]:
        return [field.value for field in self.query(Input)]

    def _note_unsaved(self) -> None:
        """Have the app ask before it ends if something was typed."""
        if self._all_typed() == self._first:
            self.app.unsaved.discard(_UNSAVED)
        else:
            self.app.unsaved.add(_UNSAVED)

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def _look_up_plan(self) -> None:
        """Show what the sampling plan will be, or what is wrong with what is typed."""
        try:
            self._typed_order = self._order()
        except InputError as exc:
            self._typed_order = None
            self._show_plan(_wrong(exc))
        else:
            self._look_up_plan_of(self._typed_order)

    @work(thread=True, exclusive=True, group="plan", exit_on_error=False)
    def _look_up_plan_of(self, order: LotOrder) -> None:
        try:
            text = self._plan_of(order)
        except RigError as exc:
            text = _wrong(exc)
        self.hand_over(self._show_plan_of, order, text)

    def _plan_of(self, order: LotOrder) -> Content:
        """Return the sampling plan that is in force; not in the UI's own thread.

        Raises:
            RigError: There is none for this order.
        """
        terms, state = terms_to_come(self.app.records(), order)
        return plan_lines(plan_words(terms.plan), whole_sentence(state.reason))

    def _chance_of(self, order: LotOrder) -> Content:
        """Return how likely a good lot is accepted; not in the UI's own thread.

        Raises:
            RigError: There is no plan for this order.
        """
        terms, _ = terms_to_come(self.app.records(), order)
        return Content("\n".join(chance_sentences(chance_at_acceptable(terms))))

    def _show_plan_of(self, order: LotOrder, text: Content) -> None:
        # More may have been typed meanwhile
        if order == self._typed_order:
            self._show_plan(text)

    def _show_plan(self, text: Content) -> None:
        self.query_one("#sampling-plan", Static).update(text)

    def _order(self) -> LotOrder:
        """Return what is typed as an order.

        Raises:
            InputError: A field is not right.
        """

        def typed(name: str) -> str:
            return self.query_one(f"#{name}", Input).value.strip()

        def chosen(name: str) -> str:
            return str(self.query_one(f"#{name}", Select).value)

        product = self._chosen_product
        if product is None and self.query_one("#listed-product").display:
            raise InputError(
                "no product is approved: approve one on the screen Products"
            )
        sampled = product is not None and product.specification.sampling is not None
        # Zero acceptance has no AQL, and its level is a verification level
        zero = chosen("sampling") == _ZERO
        return LotOrder(
            product=typed("product") if product is None else product.name,
            supplier=typed("supplier"),
            size=_whole(typed("size"), "Lot size"),
            level=None if sampled else chosen("level"),
            aql_percent=None if sampled or zero else float(chosen("aql")),
            sampling=None if sampled else chosen("sampling"),
            lower=typed_number(typed("lower"), "Lower limit"),
            upper=typed_number(typed("upper"), "Upper limit"),
            operator=self.query_one("#operator", OperatorField).name_chosen,
        )

    @on(Button.Pressed, "#begin")
    @work(exclusive=True, group="begin")
    async def action_record(self) -> None:
        """Ask whether the lot is to be begun, then put it on record."""
        try:
            order = self._order()
            plan = await asyncio.to_thread(self._plan_of, order)
            chance = await asyncio.to_thread(self._chance_of, order)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        text = order_text(order, self._chosen_product)
        words = Content("\n").join([text, plan, chance])
        question = RecordQuestion("Begin this lot?", words)
        if await self.app.push_screen_wait(question):
            self.ask(BeginLot(order=order))

    # ------------------------------------------------------------- those on record

    @work(thread=True, exclusive=True, group="lots", exit_on_error=False)
    def _look_up_lots(self) -> None:
        try:
            book = LotBook(self.app.records())
            lots = book.all_lots()[-_SHOWN:]
            found = [standing_of(book, lot.lot_id) for lot in lots]
            names = operators_on_record(self.app.records()).names
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        # Open ones first, the latest at the top
        found.sort(key=lambda one: (not one.closed, one.lot.begun_at))
        self.hand_over(self._show_lots, found[::-1])
        self.hand_over(self.query_one("#operator", OperatorField).offer, names)

    def _show_lots(self, found: list[LotStanding]) -> None:
        known = self.query_one("#known-lots", OptionList)
        known.clear_options()
        known.add_options(
            Option(listed_line(lot_head(one)), id=one.lot.lot_id) for one in found
        )
        if not found:
            known.add_option(Option("none yet", disabled=True))
        elif not found[0].closed and self._untouched():
            known.highlighted = 0
            known.focus()

    def _untouched(self) -> bool:
        """Whether nobody has begun to type."""
        size = self.query_one("#size", Input)
        return self.focused is size and self._all_typed() == self._first

    @on(OptionList.OptionSelected, "#known-lots")
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.ask(OpenLot(lot_id=str(event.option.id)))


def _wrong(error: RigError) -> Content:
    return Content.assemble(("✗ ", "bold $text-error"), f"{error}")


def _listed_products() -> Select[str]:
    choice: Select[str] = Select(
        [], prompt="none approved", id="listed-product", compact=True
    )
    choice.display = False
    return choice


def _select(name: str, values: tuple[str, ...], usual: str) -> Select[str]:
    pairs = [(value, value) for value in values]
    return Select(pairs, value=usual, allow_blank=False, id=name, compact=True)


def _whole(text: str, field: str) -> int:
    try:
        return int(text)
    except ValueError as exc:
        raise InputError(
            f"{field} is {text!r}: give a whole number, such as 90"
        ) from exc
