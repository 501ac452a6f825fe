"""Lots on record as lines of a table, and one of them in words and a picture."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from textual.content import Content

from rig.inquiry.lot_list import LotRow, lot_list
from rig.model.rounding import unit_words
from rig.records import Store
from rig.records.lot_index import LotsBy, LotsWanted
from rig.sheets.lot_part_rows import LotPartRow
from rig.sheets.lot_sheet import LotHead, lot_head
from rig.tui.frame.list_screen import Column, ListPage
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.interval import span_track
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.worded_chart import WordedChart
from rig.tui.state.local_time import local_cell, with_local_times
from rig.tui.state.status_words import VERDICT_STYLES

_TRACK_WIDTH = 15
_NONE = "–"
_OPEN = "◌"  # no verdict is due yet


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """One lot.

    Attributes:
        row: The lot as it stands.
        head: What is said of it.
    """

    row: LotRow
    head: LotHead


def _sign(line: LotLine) -> str:
    return line.head.outcome.sign if line.head.outcome.decided else _OPEN


def _state(line: LotLine) -> str:
    outcome = line.head.outcome
    return outcome.word if outcome.decided else line.head.progress


def _rig(line: LotLine) -> str:
    if not line.head.parts:
        return _NONE
    return "SIMULATED" if line.head.simulated else "real"


def _track(line: LotLine) -> str:
    """Return the values of the parts, from the smallest to the largest, with mean."""
    span, limits = line.row.span, line.row.limits
    if span is None or limits is None:
        return _NONE
    ends = limits.lower, limits.upper
    if not all(map(math.isfinite, ends)):
        return _NONE
    return span_track(span.mean, (span.smallest, span.largest), ends, _TRACK_WIDTH)


COLUMNS: Final[tuple[Column[LotLine], ...]] = (
    Column("", _sign, LotsBy.STATE),
    Column("product", lambda x: x.row.standing.lot.product, LotsBy.PRODUCT),
    Column("supplier", lambda x: x.row.standing.lot.supplier or _NONE, LotsBy.SUPPLIER),
    Column("state", _state, LotsBy.STATE),
    Column("rig", _rig, None),
    Column("parts: lower, upper", _track, None),
    Column("size", lambda x: str(x.row.standing.lot.size), LotsBy.SIZE),
    Column("parts found", lambda x: x.head.counts_found or _NONE, None),
    Column(
        "begun (UTC)", lambda x: local_cell(x.row.standing.lot.begun_at), LotsBy.BEGUN
    ),
    Column("lot", lambda x: x.row.standing.lot.lot_id, None),
)
_HEADS = tuple(column.head for column in COLUMNS)
BEGUN: Final = _HEADS.index("begun (UTC)")
"""The column."""
WEIGHTIEST: Final = tuple(
    _HEADS.index(head)
    for head in (
        *("", "product", "state", "rig", "parts: lower, upper", "supplier"),
        *("begun (UTC)", "size"),
    )
)


def read_lots(store: Store, wanted: LotsWanted) -> ListPage[LotLine]:
    """Read a page of lots.

    Raises:
        RigError: The records cannot be read.
    """
    found = lot_list(store, wanted)
    return ListPage(
        lines=tuple(
            LotLine(row=row, head=lot_head(row.standing)) for row in found.rows
        ),
        matching=found.matching,
        on_record=found.on_record,
    )


def detail_words(line: LotLine) -> Content:
    """Return what a lot is, what became of it and how its parts are."""
    head, outcome = line.head, line.head.outcome
    sign = outcome.sign if outcome.decided else _OPEN
    style = f"bold {VERDICT_STYLES.get(sign, '')}".strip()
    made = f"  SIMULATED: {head.simulated} of {len(head.parts)}"
    lines = [
        Content.assemble(
            (head.name, "bold"),
            (made, "bold $text-warning") if head.simulated else "",
        ),
        Content(f"{head.size}, begun {with_local_times(head.begun)}"),
        Content.styled(f"{sign} {_state(line)}", style),
        Content(outcome.sentence),
        Content(f"{head.plan.short}; {head.progress}: {head.counts}"),
    ]
    if head.turned:
        lines.append(Content(head.turned))
    return Content("\n").join(lines)


def failing_lines(line: LotLine) -> Content:
    """Return the parts that do not conform or are undecided, and signatures."""
    told = [
        f"{part.sign} {part.part}  {part.text}"
        for part in line.head.parts
        if VERDICT_STYLES.get(part.sign) is not None and part.sign != "✓"
    ]
    return Content("\n").join(map(Content, [*told, *line.head.signatures]))


def parts_picture(line: LotLine) -> WordedChart | None:
    """Return the values of the parts in their order, with limits; None without any."""
    parts, limits = line.row.standing.parts, line.row.limits
    known = [
        (float(number), part.value, part.expanded_uncertainty)
        for number, part in enumerate(parts, start=1)
        if part.value is not None
    ]
    if not known:
        return None
    numbers, values, halves = zip(*known, strict=True)
    wide = tuple(half for half in halves if half is not None)
    series = Series(
        name="part ± U",
        x=numbers,
        y=values,
        half_widths=wide if len(wide) == len(halves) else (),
        mark=Mark.MEASURED,
    )
    ends = [] if limits is None else [limits.lower, limits.upper]
    along = (1.0, float(max(2, len(parts))))
    lines = [
        Series(name=name, x=along, y=(end, end), joined=True)
        for name, end in zip(("limits", ""), filter(math.isfinite, ends), strict=False)
    ]
    unit = unit_words(line.row.span.unit) if line.row.span is not None else ""
    chart = Chart(
        x_title="part",
        y_title=unit,
        series=(*lines, series),
        whole_x=True,
        y_narrowest=1e-6,
    )
    return WordedChart(chart=chart, words=tuple(map(_told, line.head.parts)))


def _told(part: LotPartRow) -> str:
    return f"{part.number}, part {part.part}: {part.text}  {part.verdict}"
