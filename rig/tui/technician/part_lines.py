"""Parts on record as lines of a table: what they say, and what they sort by."""

from __future__ import annotations

from typing import Final

from rig.inquiry.part_list import PartRow, part_list
from rig.records import Store
from rig.records.part_index import PartsBy, PartsWanted
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.tried_sheet import verdict_word
from rig.tui.frame.list_screen import Column, ListPage
from rig.tui.state.local_time import local_cell
from rig.tui.technician.run_lines import LIMITS_HEAD, figure_text, limits_cell


def _sign(row: PartRow) -> str:
    if row.changed:
        return "!"
    return "–" if row.decision is None else VERDICT_SIGNS[row.decision]


def _operate(row: PartRow) -> str:
    return figure_text(row.operate) if row.operate is not None else row.result or "–"


def _rig(row: PartRow) -> str:
    if not row.tried:
        return "–"
    return "SIMULATED" if row.simulated else "real"


COLUMNS: Final[tuple[Column[PartRow], ...]] = (
    Column("", _sign, None),
    Column("part", lambda x: x.part, PartsBy.PART),
    Column("sensor", lambda x: x.sensor or "–", None),
    Column("target", lambda x: x.target or "–", None),
    Column("operate mm (95 %)", _operate, None),
    Column("rig", _rig, None),
    Column(
        LIMITS_HEAD,
        lambda x: limits_cell(x.operate, x.limits),
        PartsBy.MARGIN,
    ),
    Column("verdict", lambda x: verdict_word(x.decision), None),
    Column("tried", lambda x: str(x.tried), PartsBy.TRIED),
    Column("last on record (UTC)", lambda x: local_cell(x.last_at), PartsBy.LAST),
)
_HEADS = tuple(column.head for column in COLUMNS)
LAST: Final = _HEADS.index("last on record (UTC)")
"""The column."""
# A figure never stands without the word that it is simulated
WEIGHTIEST: Final = tuple(
    _HEADS.index(head)
    for head in (
        *("", "part", "operate mm (95 %)", "rig", LIMITS_HEAD, "target", "sensor"),
        *("last on record (UTC)", "tried"),
    )
)


def read_parts(store: Store, wanted: PartsWanted) -> ListPage[PartRow]:
    """Read a page of parts.

    Raises:
        RecordsError: The records cannot be read.
    """
    found = part_list(store, wanted)
    return ListPage(
        lines=found.rows, matching=found.matching, on_record=found.on_record
    )
