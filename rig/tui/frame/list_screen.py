"""A list with the detail of the marked row beside it: sorted, filtered, paged.

The records are asked for a page at a time, in a worker; the screen holds what is in
view and what was scrolled past.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Generic, TypeVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal
from textual.widget import Widget
from textual.widgets import DataTable, Input, Static

from rig.errors import InputError, RigError
from rig.records import Store
from rig.tui.frame.resting_cursor import RestingCursor
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable

PAGE = 200  # rows that are read at once
Line = TypeVar("Line")


@dataclass(frozen=True, slots=True)
class Column(Generic[Line]):
    """A column of a list.

    Attributes:
        head: What stands above it.
        text: Returns what stands in the row of a line.
        by: What the list is sorted by here; None where it cannot be.
    """

    head: str
    text: Callable[[Line], str]
    by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPage(Generic[Line]):
    """Rows of a list.

    Attributes:
        lines: Rows in the order asked for.
        matching: How many have all words that were asked for.
        on_record: How many there are at all.
    """

    lines: tuple[Line, ...]
    matching: int
    on_record: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PageWanted:
    """Which rows a list wants to show.

    Attributes:
        words: Words that each row must have.
        by: What they are sorted by, as its column says.
        falling: Whether the largest, or the latest, comes first.
        first: How many are passed over.
        limit: How many are wanted at most; None for all.
    """

    words: tuple[str, ...]
    by: str
    falling: bool
    first: int = 0
    limit: int | None = None


class ListScreen(WorkScreen, Generic[Line]):
    """Looks through what is on record.

    A screen says what its rows are by the class variables and methods below. A click
    on a head sorts by that column.
    """

    NOUN: ClassVar[str]
    """What the rows are, in the plural; the ids of the widgets begin with it."""
    WORDS: ClassVar[str]
    """What to type into the filter."""
    HINT: ClassVar[str]
    """Words as an example."""
    NOTHING: ClassVar[str]
    """What to say where nothing is on record."""
    COLUMNS: ClassVar[Sequence[Column[Any]]]
    WEIGHTIEST: ClassVar[Sequence[int]]
    """Columns that are left out last, the weightiest first."""
    FIRST_BY: ClassVar[int]
    """Column that it is sorted by at first, the largest or latest at the top."""
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            "slash",
            "filter",
            "Filter",
            id="list.filter",
            key_display="/",
            tooltip="Show only rows that have these words",
        ),
        bound("s", "sort", "Sort", id="list.sort", tooltip="Sort by the next column"),
        bound("d", "turn", "Turn", id="list.turn", tooltip="Turn the order round"),
        bound("escape", "table", "To the table", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._found: ListPage[Line] | None = None
        self._shown: list[Line] = []
        self._column = self.FIRST_BY
        self._falling = True
        self._resting = RestingCursor(self, self._rested)
        self._typing = RestingCursor(self, self._read)

    # ----------------------------------------------------- what a screen says of it

    @abstractmethod
    def read_page(self, store: Store, wanted: PageWanted) -> ListPage[Line]:
        """Read rows; called in a worker's thread.

        Raises:
            RigError: The records cannot be read.
        """

    @abstractmethod
    def identity(self, line: Line) -> str:
        """Return what a row is known by."""

    @abstractmethod
    def make_detail(self) -> Widget:
        """Return the widget beside the list."""

    @abstractmethod
    def look_closer(self, line: Line | None) -> None:
        """Show the row under the cursor in the detail; None where there is none."""

    @abstractmethod
    def open_line(self, line: Line) -> None:
        """Open a row that was chosen."""

    # -------------------------------------------------------------------- the screen

    def compose_body(self) -> ComposeResult:
        """Yield filter, table and detail."""
        with Horizontal(classes="list-row"):
            yield Static(self.WORDS, classes="name")
            yield Input(
                self.app.kept(self._draft),
                placeholder=self.HINT,
                id=f"{self.NOUN}-filter",
                classes="list-filter",
                compact=True,
            )
            yield Static("", id=f"{self.NOUN}-count", classes="list-count")
        with Container(classes="list-and-detail"):
            yield FittingTable(self.NOUN.capitalize(), id=self.NOUN)
            yield self.make_detail()

    @property
    def _draft(self) -> str:
        return f"{self.NOUN}.filter"

    @property
    def _filter(self) -> Input:
        return self.query_one(".list-filter", Input)

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    def wanted(self) -> PageWanted:
        """Return which rows are wanted, all of them, and in which order."""
        return PageWanted(
            words=tuple(self._filter.value.split()),
            by=self.COLUMNS[self._column].by or "",
            falling=self._falling,
        )

    def line_under_cursor(self) -> Line | None:
        """Return the row under the cursor."""
        row = self.query_one(FittingTable).cursor_row
        return self._shown[row] if 0 <= row < len(self._shown) else None

    def _read(self) -> None:
        """Read as many as are in view again, from the first."""
        pages = max(1, -(-len(self._shown) // PAGE))
        self._read_page(0, pages * PAGE)

    def _read_page(self, first: int, limit: int) -> None:
        whole = self.wanted()
        self._read_in_worker(
            PageWanted(
                words=whole.words,
                by=whole.by,
                falling=whole.falling,
                first=first,
                limit=limit,
            )
        )

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read_in_worker(self, wanted: PageWanted) -> None:
        try:
            found = self.read_page(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, wanted.first, found)

    def _take(self, first: int, found: ListPage[Line]) -> None:
        shown = [*self._shown[:first], *found.lines]
        if shown != self._shown or found != self._found:
            line = self.line_under_cursor()
            before = "" if line is None else self.identity(line)
            self._shown, self._found = shown, found
            self._fill(before)

    def _heads(self) -> list[str]:
        arrow = " ▼" if self._falling else " ▲"
        return [
            f"{column.head}{arrow if number == self._column else ''}"
            for number, column in enumerate(self.COLUMNS)
        ]

    def _fill(self, before: str) -> None:
        table = self.query_one(FittingTable)
        rows = [[column.text(line) for column in self.COLUMNS] for line in self._shown]
        table.show(self._heads(), rows, last=self.WEIGHTIEST)
        ids = [self.identity(line) for line in self._shown]
        table.move_cursor(row=ids.index(before) if before in ids else 0)
        self._say_how_many()
        self._resting.moved()
        self.show_again()

    def _say_how_many(self) -> None:
        found = self._found
        if found is not None:
            shown = f"first {len(self._shown)} of "
            more = shown if len(self._shown) < found.matching else ""
            count = f"{more}{found.matching} of {found.on_record} {self.NOUN}"
            self.put(f"#{self.NOUN}-count", count)

    # --------------------------------------------------------- beside the list

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        """Look closer once the cursor has rested."""
        self._resting.moved()

    def _rested(self) -> None:
        shown, found = len(self._shown), self._found
        at_the_end = self.query_one(FittingTable).cursor_row >= shown - 1
        if at_the_end and found is not None and shown < found.matching:
            self._read_page(shown, PAGE)
        self.look_closer(self.line_under_cursor())

    # ------------------------------------------------------------------- its keys

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._found is None:
            return f"The {self.NOUN} are being read."
        if not self._found.on_record:
            return self.NOTHING
        if not self._shown:
            return "Nothing has all these words: change them, or take some away."
        return self.what_keys_do()

    @abstractmethod
    def what_keys_do(self) -> str:
        """Say what can be done with the rows."""

    def take_focus(self, now: Situation) -> None:
        """Stay in the filter if somebody types there."""
        if self.focused is None:
            self.query_one(FittingTable).focus()

    @on(Input.Changed, ".list-filter")
    def _typed(self, event: Input.Changed) -> None:
        self.app.keep(self._draft, event.value)
        self._typing.moved()

    @on(Input.Submitted, ".list-filter")
    def action_table(self) -> None:
        """Go from the filter to the table."""
        self.query_one(FittingTable).focus()

    def action_filter(self) -> None:
        """Go to the filter."""
        self._filter.focus()

    def action_sort(self) -> None:
        """Sort by the next column."""
        count = len(self.COLUMNS)
        after = [*range(self._column + 1, count), *range(self._column + 1)]
        column = next(one for one in after if self.COLUMNS[one].by is not None)
        self._sort(column, falling=False)

    def action_turn(self) -> None:
        """Turn the order round."""
        self._sort(self._column, falling=not self._falling)

    @on(DataTable.HeaderSelected)
    def _head_clicked(self, event: DataTable.HeaderSelected) -> None:
        column = self.query_one(FittingTable).column_of_click(event)
        if self.COLUMNS[column].by is None:
            what = self.COLUMNS[column].head
            refused = InputError(f"{self.NOUN} are not sorted by {what}")
            self.app.show_problem(refused)
            return
        same = column == self._column
        self._sort(column, falling=not self._falling if same else False)

    def _sort(self, column: int, *, falling: bool) -> None:
        self._column, self._falling = column, falling
        self._read()

    @on(DataTable.RowSelected)
    def _chosen(self) -> None:
        line = self.line_under_cursor()
        if line is not None:
            self.open_line(line)
