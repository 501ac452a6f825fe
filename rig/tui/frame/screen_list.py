"""The screens of the terminal UI, by way of working; knows where each is, not what.

To add a screen: write `rig/tui/ROOM/NAME_screen.py` with a subclass of `WorkScreen`
(from `frame/work_screen.py`) and its style sheet `NAME_screen.tcss` beside it, even if
it is empty, and add one `ScreenEntry` to `SCREENS` below. The home list, the palette,
the key (if it has one) and the style sheets follow from that entry.

What a screen asks of the rig is a `Job` (`rig/jobs.py`): it is carried out by the
thread that owns the rig. What it reads from the records it reads in a thread worker, by
`self.app.records()`. Bindings that have an id such as `run.note` stand in the palette
as "run: Note" while the screen is in view.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rig.tui.frame.framed_screen import FramedScreen


class Way(StrEnum):
    """Whose work a screen is for."""

    EVERYBODY = "everybody"
    TECHNICIAN = "technician"
    INSTRUCTOR = "instructor"
    INSPECTOR = "inspector"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenEntry:
    """A screen that one can go to.

    Attributes:
        name: Name of the mode of the app.
        way: Way of working that the screen is for.
        title: Title of the screen in lists.
        sentence: What one does there.
        module: Module below `rig.tui`; its style sheet has the same name.
        screen: Class in that module.
        key: A function key that leads there from everywhere; empty for none.
    """

    name: str
    way: Way
    title: str
    sentence: str
    module: str
    screen: str
    key: str = ""

    def make(self) -> FramedScreen:
        """Make its screen; what it needs is loaded not before."""
        module = import_module(f"rig.tui.{self.module}")
        made: FramedScreen = getattr(module, self.screen)()
        return made


SCREENS: Final = (
    ScreenEntry(
        name="rig",
        way=Way.EVERYBODY,
        title="Rig",
        sentence="connect to a rig",
        module="bench.rig_screen",
        screen="RigScreen",
        key="f2",
    ),
    ScreenEntry(
        name="bench",
        way=Way.EVERYBODY,
        title="Bench",
        sentence="select what is mounted, check the bench, touch off",
        module="bench.bench_screen",
        screen="BenchScreen",
        key="f3",
    ),
    ScreenEntry(
        name="sweeps",
        way=Way.EVERYBODY,
        title="Sweeps",
        sentence="measure what is mounted",
        module="bench.sweeps_screen",
        screen="SweepsScreen",
        key="f4",
    ),
    ScreenEntry(
        name="home",
        way=Way.EVERYBODY,
        title="Screens",
        sentence="this list",
        module="app.home_screen",
        screen="HomeScreen",
        key="f5",
    ),
    ScreenEntry(
        name="carry_on",
        way=Way.EVERYBODY,
        title="Carry on",
        sentence="where you were: plan, lot or study, and the rig",
        module="app.carry_on_screen",
        screen="CarryOnScreen",
    ),
    ScreenEntry(
        name="plans",
        way=Way.TECHNICIAN,
        title="Plans",
        sentence="make a plan, work through it, resume where it ended",
        module="technician.plans_screen",
        screen="PlansScreen",
        key="f6",
    ),
    ScreenEntry(
        name="runs",
        way=Way.TECHNICIAN,
        title="Runs",
        sentence="look through past runs: figures, verdicts, notes",
        module="technician.runs_screen",
        screen="RunsScreen",
        key="f7",
    ),
    ScreenEntry(
        name="parts",
        way=Way.TECHNICIAN,
        title="Parts",
        sentence="look through parts: verdicts, margins, history",
        module="technician.parts_screen",
        screen="PartsScreen",
    ),
    ScreenEntry(
        name="batch",
        way=Way.TECHNICIAN,
        title="Batch",
        sentence="parts of a batch: verdicts, charts, comparison",
        module="technician.batch_screen",
        screen="BatchScreen",
    ),
    ScreenEntry(
        name="study",
        way=Way.TECHNICIAN,
        title="Studies",
        sentence="repeatability and reproducibility of the measurement",
        module="technician.study_screen",
        screen="StudyScreen",
    ),
    ScreenEntry(
        name="calibration",
        way=Way.TECHNICIAN,
        title="Calibration",
        sentence="correction of each axis and how long it is valid",
        module="technician.calibration_screen",
        screen="CalibrationScreen",
    ),
    ScreenEntry(
        name="declaration",
        way=Way.EVERYBODY,
        title="Declaration",
        sentence="what is known of the bench, what is assumed, and why",
        module="bench.declaration_screen",
        screen="DeclarationScreen",
    ),
    ScreenEntry(
        name="trimmer",
        way=Way.EVERYBODY,
        title="Set trimmer",
        sentence="hold the target, turn the trimmer until it operates",
        module="trimmer.trimmer_screen",
        screen="TrimmerScreen",
    ),
    ScreenEntry(
        name="lot",
        way=Way.INSPECTOR,
        title="Lot",
        sentence="part after part of a lot, then the decision",
        module="inspector.lot_screen",
        screen="LotScreen",
    ),
    ScreenEntry(
        name="lots",
        way=Way.INSPECTOR,
        title="Lots",
        sentence="look through lots: decisions, parts between their limits",
        module="inspector.lots_screen",
        screen="LotsScreen",
    ),
    ScreenEntry(
        name="operators",
        way=Way.INSPECTOR,
        title="Operators",
        sentence="name those who answer for results, set their PINs",
        module="inspector.operators_screen",
        screen="OperatorsScreen",
    ),
    ScreenEntry(
        name="part_history",
        way=Way.INSPECTOR,
        title="Part",
        sentence="scan a part and see all that is on record of it",
        module="technician.part_history_screen",
        screen="PartHistoryScreen",
    ),
    ScreenEntry(
        name="products",
        way=Way.INSPECTOR,
        title="Products",
        sentence="what sensors should be: data sheets, approvals",
        module="inspector.products_screen",
        screen="ProductsScreen",
    ),
    ScreenEntry(
        name="suppliers",
        way=Way.INSPECTOR,
        title="Suppliers",
        sentence="a product over its lots: charts, nonconformities",
        module="inspector.suppliers_screen",
        screen="SuppliersScreen",
    ),
    ScreenEntry(
        name="class_live",
        way=Way.INSTRUCTOR,
        title="Live",
        sentence="large live view: target, sensor, gap, output, edges",
        module="instructor.class_live_screen",
        screen="ClassLiveScreen",
        key="f9",
    ),
    ScreenEntry(
        name="class_predict",
        way=Way.INSTRUCTOR,
        title="Predict",
        sentence="people predict the gap, then the rig measures it",
        module="instructor.class_predict_screen",
        screen="ClassPredictScreen",
    ),
    ScreenEntry(
        name="class_repeat",
        way=Way.INSTRUCTOR,
        title="Repeat",
        sentence="repeatability builds up as dots, mean and spread",
        module="instructor.class_repeat_screen",
        screen="ClassRepeatScreen",
    ),
    ScreenEntry(
        name="class_settings",
        way=Way.INSTRUCTOR,
        title="Setting",
        sentence="two settings of the trimmer side by side",
        module="instructor.class_settings_screen",
        screen="ClassSettingsScreen",
    ),
    ScreenEntry(
        name="class_hand",
        way=Way.INSTRUCTOR,
        title="By hand",
        sentence="readings by hand beside the rig's",
        module="instructor.class_hand_screen",
        screen="ClassHandScreen",
    ),
    ScreenEntry(
        name="class_materials",
        way=Way.INSTRUCTOR,
        title="Materials",
        sentence="materials, thickness and theory side by side",
        module="instructor.class_materials_screen",
        screen="ClassMaterialsScreen",
    ),
    ScreenEntry(
        name="class_table",
        way=Way.INSTRUCTOR,
        title="Class table",
        sentence="which sensor detects which target",
        module="instructor.class_table_screen",
        screen="ClassTableScreen",
    ),
)
