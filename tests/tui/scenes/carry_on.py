"""The first screen of who has worked here: work left open, and work that has ended."""

from __future__ import annotations

from textual.pilot import Pilot
from textual.widgets import OptionList

from rig.inquiry.study_state import studies_on_record
from rig.records import Reader, Store
from rig.records.lot_book import LotBook
from rig.tui.state.places import Place, PlaceKind
from tests.tui.conftest import FAST, at_screen, until
from tests.tui.scenes.inspector import SCENES as INSPECTOR
from tests.tui.scenes.scene import Prepare, Scene, situate
from tests.tui.scenes.study import SCENES as STUDY
from tests.tui.scenes.technician import SCENES as TECHNICIAN
from tests.tui.situations import AT_START


def work_left(records: str) -> None:
    """Put a plan, a lot and a study on record, none of them finished."""
    # The plan's records are copied, so they come first
    for scene in (TECHNICIAN["plan"], INSPECTOR["inspection_open"], STUDY["studies"]):
        scene.prepare(records)


def work_ended(records: str) -> None:
    """Put a decided lot on record, and a study whose rows all have readings."""
    for scene in (INSPECTOR["inspection_decided"], STUDY["studies"]):
        scene.prepare(records)


def newest_places(store: Store) -> list[Place]:
    """Return the places of the work that was left: study, lot, plan."""
    plans = [one.plan_id for one in Reader(store).plans()]
    lots = [one.lot_id for one in LotBook(store).all_lots()]
    studies = [one.entry.study_id for one in studies_on_record(store)]
    kinds = (
        (PlaceKind.STUDY, studies[:1]),
        (PlaceKind.LOT, lots),
        (PlaceKind.PLAN, plans),
    )
    return [Place(kind, found[-1]) for kind, found in kinds if found]


def ended_places(store: Store) -> list[Place]:
    """Return the places of the work that has ended."""
    study = studies_on_record(store)[-1].entry.study_id
    (lot,) = LotBook(store).all_lots()
    return [Place(PlaceKind.STUDY, study), Place(PlaceKind.LOT, lot.lot_id)]


def _at_first_screen(ended: bool, prepare: Prepare) -> Scene:
    async def open(pilot: Pilot[None]) -> None:
        app = pilot.app
        await situate(pilot, AT_START, None)
        app.keep("rig", FAST.replace("&seed=7", ""))
        for place in (ended_places if ended else newest_places)(app.records()):
            app.places.remember(place)
        await app.run_action("app.open_screen('carry_on')")
        await at_screen(pilot, "Carry on")
        await until(pilot, lambda: bool(app.screen.query_one(OptionList).options))

    return Scene(open=open, prepare=prepare)


SCENES = {
    "carry_on": _at_first_screen(False, work_left),
    "carry_on_ended": _at_first_screen(True, work_ended),
}
