"""The places of the terminal UI, by way of working; knows where a screen is, not what.

To add a place: write `screens/NAME_place.py` with a subclass of `WorkPlace` (from
`screens/work_place.py`) and its style sheet `screens/NAME_place.tcss` beside it, even
if it is empty, and add one `PlaceEntry` to `PLACES` below. The home list, the palette,
the key (if it has one) and the style sheets follow from that entry.

What a place asks of the rig is a `Job` (`jobs.py`): it is carried out by the thread
that owns the rig. What it reads from the records it reads in a thread worker, by
`self.app.records()`. Bindings that have an id such as `run.note` stand in the palette
as "run: Note" while the place is in view.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rig.tui.screens.place import Place


class Way(StrEnum):
    """Whose work a place is for."""

    EVERYBODY = "everybody"
    TECHNICIAN = "technician"
    INSTRUCTOR = "instructor"
    INSPECTOR = "inspector"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceEntry:
    """A place that one can go to.

    Attributes:
        name: Of the mode of the app.
        way: Whose work it is for.
        title: As the lists call it.
        sentence: What one does there.
        module: In `rig.tui.screens`; its style sheet has the same name.
        screen: The class in it.
        key: A function key that leads there from everywhere; empty for none.
    """

    name: str
    way: Way
    title: str
    sentence: str
    module: str
    screen: str
    key: str = ""

    def make(self) -> Place:
        """Make its screen; what it needs is loaded not before."""
        module = import_module(f"rig.tui.screens.{self.module}")
        made: Place = getattr(module, self.screen)()
        return made


PLACES: Final = (
    PlaceEntry(
        name="rig",
        way=Way.EVERYBODY,
        title="Rig",
        sentence="connect to a rig",
        module="rig_place",
        screen="RigPlace",
        key="f2",
    ),
    PlaceEntry(
        name="bench",
        way=Way.EVERYBODY,
        title="Bench",
        sentence="say what is mounted, check the bench, touch off",
        module="bench_place",
        screen="BenchPlace",
        key="f3",
    ),
    PlaceEntry(
        name="sweeps",
        way=Way.EVERYBODY,
        title="Sweeps",
        sentence="measure what is mounted",
        module="sweeps_place",
        screen="SweepsPlace",
        key="f4",
    ),
    PlaceEntry(
        name="home",
        way=Way.EVERYBODY,
        title="Places",
        sentence="this list",
        module="home_place",
        screen="HomePlace",
        key="f5",
    ),
    PlaceEntry(
        name="plans",
        way=Way.TECHNICIAN,
        title="Plans",
        sentence="make a plan, work through it, go on where it ended",
        module="plans_place",
        screen="PlansPlace",
        key="f6",
    ),
    PlaceEntry(
        name="runs",
        way=Way.TECHNICIAN,
        title="Runs",
        sentence="look through past runs: figures, verdicts, notes",
        module="runs_place",
        screen="RunsPlace",
        key="f7",
    ),
    PlaceEntry(
        name="trimmer",
        way=Way.EVERYBODY,
        title="Set trimmer",
        sentence="hold the target, turn the trimmer until it operates",
        module="trimmer_place",
        screen="TrimmerPlace",
    ),
    PlaceEntry(
        name="lot",
        way=Way.INSPECTOR,
        title="Lot",
        sentence="part after part of a lot, then the decision",
        module="lot_place",
        screen="LotPlace",
    ),
    PlaceEntry(
        name="class_live",
        way=Way.INSTRUCTOR,
        title="Live",
        sentence="large live view: target, sensor, gap, output, edges",
        module="class_live_place",
        screen="ClassLivePlace",
        key="f9",
    ),
    PlaceEntry(
        name="class_predict",
        way=Way.INSTRUCTOR,
        title="Predict",
        sentence="people predict the gap, then the rig measures it",
        module="class_predict_place",
        screen="ClassPredictPlace",
    ),
    PlaceEntry(
        name="class_repeat",
        way=Way.INSTRUCTOR,
        title="Repeat",
        sentence="repeatability builds up as dots, with mean and spread",
        module="class_repeat_place",
        screen="ClassRepeatPlace",
    ),
    PlaceEntry(
        name="class_settings",
        way=Way.INSTRUCTOR,
        title="Trimmer",
        sentence="two settings of the trimmer side by side",
        module="class_settings_place",
        screen="ClassSettingsPlace",
    ),
    PlaceEntry(
        name="class_hand",
        way=Way.INSTRUCTOR,
        title="By hand",
        sentence="readings by hand beside the rig's",
        module="class_hand_place",
        screen="ClassHandPlace",
    ),
    PlaceEntry(
        name="class_materials",
        way=Way.INSTRUCTOR,
        title="Materials",
        sentence="materials, thickness and theory side by side",
        module="class_materials_place",
        screen="ClassMaterialsPlace",
    ),
)
