"""Where work was left, read from the records: what comes next, or that it has ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rig.errors import RigError
from rig.inquiry.lot import standing_of
from rig.inquiry.study_state import study_state
from rig.records import Store
from rig.records.lot_book import LotBook
from rig.sheets.lot_sheet import lot_head
from rig.sheets.study_state_sheet import study_state_sheet
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.pictures.progress_card import ProgressCard
from rig.tui.state.local_time import with_local_times
from rig.tui.state.places import Place, PlaceKind
from rig.tui.technician.plan_day_screen import PlanDay
from rig.tui.technician.plan_state import on_record
from rig.tui.technician.study_readings_screen import StudyReadings


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLeft:
    """A place that can be carried on with.

    Attributes:
        place: Plan, lot or study that it is.
        mode: Mode of the app that its screen stands in.
        line: What comes next, and of what, in one line.
        card: Picture of it, to be read from afar.
        simulated: Whether anything of it was measured on a simulated rig.
        make: Makes its screen.
    """

    place: Place
    mode: str
    line: str
    card: ProgressCard
    simulated: bool
    make: Callable[[], FramedScreen]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceEnded:
    """A place where nothing is left to do.

    Attributes:
        place: Plan, lot or study that it was.
        sign: Sign that goes before the sentence.
        sentence: How it ended, or why it cannot be opened.
    """

    place: Place
    sign: str
    sentence: str


def place_left(place: Place, store: Store) -> PlaceLeft | PlaceEnded:
    """Read where the work at a place stands."""
    read = {
        PlaceKind.PLAN: _plan,
        PlaceKind.LOT: _lot,
        PlaceKind.STUDY: _study,
    }[place.kind]
    try:
        return read(place, store)
    except RigError as exc:
        sentence = f"The {place.kind} where you were cannot be opened: {exc}."
        return PlaceEnded(place=place, sign="–", sentence=sentence)


def _plan(place: Place, store: Store) -> PlaceLeft | PlaceEnded:
    standing = on_record(place.identity, store, None)
    due, pairs = standing.next_due(), len(standing.items)
    if due is None:
        sentence = f"The plan {standing.title} is done: all of its {pairs} pairs."
        return PlaceEnded(place=place, sign="✓", sentence=sentence)
    item = due.item
    next_pair = f"pair {item.index + 1} of {pairs}"
    begun = standing.progress[item.index].to_resume()
    resumes = ""
    if begun is not None:
        resumes = f", {begun.good_sweeps} of {begun.sweeps_wanted} sweeps done"
    bar = standing.bar()
    what = f"{item.sensor.name} against {item.target.name}"
    return PlaceLeft(
        place=place,
        mode="plans",
        line=f"{next_pair}: plan {standing.title}",
        card=ProgressCard(
            title=f"Plan {standing.title}",
            letters=next_pair.upper(),
            done=bar.done,
            wanted=bar.wanted,
            words=(
                f"Plan {standing.title}: {bar.words}.",
                f"Next is {next_pair}, {what}{resumes}.",
            ),
        ),
        simulated=standing.entry is not None and standing.entry.simulated,
        make=lambda: PlanDay(plan_id=place.identity),
    )


def _lot(place: Place, store: Store) -> PlaceLeft | PlaceEnded:
    standing = standing_of(LotBook(store), place.identity)
    head = lot_head(standing)
    if standing.closed:
        outcome = head.outcome
        decided = with_local_times(outcome.decided)
        sentence = f"The lot of {head.name} is {outcome.word}. {decided}"
        return PlaceEnded(place=place, sign=outcome.sign, sentence=sentence)
    done, sample = len(standing.parts), standing.sample
    next_part = f"part {done + 1} of {sample}" if done < sample else "decision"
    return PlaceLeft(
        place=place,
        mode="lot",
        line=f"{next_part}: lot of {head.name}",
        card=ProgressCard(
            title=f"Lot of {head.name}",
            letters=next_part.upper(),
            done=min(done, sample),
            wanted=sample,
            words=(
                f"Lot of {head.name}, {head.size}: {head.progress} inspected.",
                head.outcome.sentence,
            ),
        ),
        simulated=head.simulated > 0,
        make=lambda: InspectionScreen(standing),
    )


def _study(place: Place, store: Store) -> PlaceLeft | PlaceEnded:
    state = study_state(store, place.identity)
    sheet, rows = study_state_sheet(state), len(state.entry.rows)
    title = state.entry.title
    if not state.due:
        sentence = f"The study {title} is complete. {sheet.progress}"
        return PlaceEnded(place=place, sign="✓", sentence=sentence)
    next_row = f"row {state.due[0].order} of {rows}"
    return PlaceLeft(
        place=place,
        mode="study",
        line=f"{next_row}: study {title}",
        card=ProgressCard(
            title=f"Study {title}",
            letters=next_row.upper(),
            done=sheet.total,
            wanted=rows,
            words=(f"Study {title}: {sheet.progress}", f"Next is {sheet.due}."),
        ),
        simulated=sheet.simulated > 0,
        make=lambda: StudyReadings(place.identity),
    )
