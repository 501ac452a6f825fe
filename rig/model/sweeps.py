"""What was measured: raw edges, sweeps, and the conditions they were taken under."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.model.bench_declaration import BenchKnowledge
from rig.model.calibration import AxisCalibration
from rig.model.mounted import Axis, Backlash, Datum, Sensor, Target
from rig.model.product import ProductVersion


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One change of the sensor's output as the controller latched it.

    Attributes:
        number: Number of the notice on the wire, 0 to 65535, wraps.
        level: Level of the output after the change.
        position_steps: Step count at the latch, from home.
        time_us: Controller's clock at the latch; wraps at 2**32.
        approaching: Whether the axis was ordered toward the face.
        scale: Count of the linear scale at the latch less `position_steps`, modulo
            65536; None without a scale.
    """

    number: int
    level: bool
    position_steps: int
    time_us: int
    approaching: bool
    scale: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """One approach and one retreat across the switching band.

    Attributes:
        index: 0 for the first sweep of its run; void ones are counted too.
        speed_mm_s: Speed on both ways, as carried out (whole steps a second).
        operate: The edge taken as the operate point; None if there was none.
        release: The edge taken as the release point; None if there was none.
        edges: Every edge of the sweep in order, those two among them.
        void: Empty for a good sweep, otherwise why it is not used.
        ended_at: When it ended, UTC.
        conditions_index: Index of the run's conditions that the sweep was taken under.
    """

    index: int
    speed_mm_s: float
    operate: Edge | None
    release: Edge | None
    edges: tuple[Edge, ...]
    void: str
    ended_at: datetime
    conditions_index: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """All that a run's figures depend on besides its edges.

    Attributes:
        simulated: True when the rig says that it is simulated.
        rig_id: Identity from the controller's greeting.
        firmware_version: Firmware version in the controller's greeting.
        protocol_version: Protocol version in the controller's greeting, "major.minor".
        boot_number: Changes with every start of the controller.
        axis: What is known of the axis.
        datum: Where the gap is 0.
        backlash: Lost motion on reversal.
        temperature_c: Ambient temperature if somebody gave it.
        operator: Who answers for the run; may be empty.
        note: Free text; may be empty.
        calibration: Calibration of the axis, as it stood then; None if there was none.
        bench: What was declared or assumed of the bench; None for a run from before
            that was kept, whose axis and datum state it themselves.
        measured_temperature_c: What the rig's own thermometer showed as they began;
            None without one.
        set_supply_v: Voltage that the rig was told to set the sensor's supply to; None
            if nobody asked for one.
        measured_supply_v: Voltage of the sensor's supply as they began, by the rig;
            None where it does not measure it.
        load_current_ma: Current through the load then, while the output conducted; None
            where it did not, or the rig does not measure it.
        residual_voltage_v: Voltage across the output then, likewise.
    """

    simulated: bool
    rig_id: str
    firmware_version: str
    protocol_version: str
    boot_number: int
    axis: Axis
    datum: Datum
    backlash: Backlash
    temperature_c: float | None = None
    operator: str = ""
    note: str = ""
    calibration: AxisCalibration | None = None
    bench: BenchKnowledge | None = None
    measured_temperature_c: float | None = None
    set_supply_v: float | None = None
    measured_supply_v: float | None = None
    load_current_ma: float | None = None
    residual_voltage_v: float | None = None

    @property
    def ambient_c(self) -> float | None:
        """Ambient temperature: as somebody gave it, else as the rig measured it."""
        if self.temperature_c is None:
            return self.measured_temperature_c
        return self.temperature_c


@dataclass(frozen=True, slots=True, kw_only=True)
class DatumCheck:
    """The face touched again after sweeps, in the count of the datum.

    Attributes:
        sweeps_before: Sweeps of the run that were made before it, void ones included.
        position_steps: Mean of the touches, steps from home.
        standard_uncertainty_mm: Standard uncertainty of the mean (mm), from the scatter
            of the touches.
        degrees_of_freedom: Degrees of freedom of the standard uncertainty.
        n: Number of touches.
        touched_at: When, UTC.
        conditions_index: Index of the run's conditions whose datum it checks.
        scale_steps: Mean of the touches by the linear scale, in steps from home; None
            without a scale.
    """

    sweeps_before: int
    position_steps: float
    standard_uncertainty_mm: float
    degrees_of_freedom: float
    n: int
    touched_at: datetime
    conditions_index: int = 0
    scale_steps: float | None = None

    @property
    def place_steps(self) -> float:
        """Place in the terms of `Datum.place_steps`."""
        return self.position_steps if self.scale_steps is None else self.scale_steps


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """When the sweeps of a run are due, spread evenly over a time.

    Attributes:
        hours: Hours from the first reading to the last.
        readings: How many times it is swept; the sweeps of the run are shared out
            among them evenly.
    """

    hours: float
    readings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunHeader:
    """What is known of a run before its first sweep.

    Attributes:
        run_id: Identity, sorts by time of start.
        sensor: What was measured.
        target: Against what.
        sweeps_wanted: Number of good sweeps asked for.
        speeds_mm_s: Speeds that the sweeps go through in turn.
        conditions: Conditions that the run began under.
        software_version: Version of this software.
        started_at: When, UTC.
        plan_id: The plan that the run belongs to; empty for a single run.
        plan_item: Index of the run in the plan; -1 for a single run.
        part: Serial or sample number of the sensor; empty if nobody gave it.
        timetable: When its sweeps were due; None for one after another.
        label: Name of the setting that the run belongs to, such as one of the trimmer's
            in a lesson; empty for none. At most 200 characters.
        until_mm: Expanded uncertainty of the operate point that ends the run; None
            if all sweeps are taken.
        product: Product that the part should be, as it was specified then; None if
            nobody named one.
        for_verdict: Whether the run ends as soon as its verdict is clear.
    """

    run_id: str
    sensor: Sensor
    target: Target
    sweeps_wanted: int
    speeds_mm_s: tuple[float, ...]
    conditions: Conditions
    software_version: str
    started_at: datetime
    plan_id: str = ""
    plan_item: int = -1
    part: str = ""
    timetable: Timetable | None = None
    label: str = ""
    until_mm: float | None = None
    product: ProductVersion | None = None
    for_verdict: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run with all its sweeps so far.

    Attributes:
        header: What was known before the first sweep.
        sweeps: Sweeps in order, void ones included.
        void: Empty, or why the whole run is not to be used.
        ended_at: When it ended, UTC; None while it is going on or was cut short.
        home_shift_steps: Steps by which the home switch moved over the run; None if
            that was not checked.
        later_conditions: One more entry for every time that the run was taken up
            again under a new datum; the header holds entry 0.
        datum_checks: Touches of the face after sweeps, in order.
        home_repeatability_mm: Standard deviation of the place at which the home switch
            closes, from repeats after the run; None if nobody repeated it.
    """

    header: RunHeader
    sweeps: tuple[Sweep, ...]
    void: str = ""
    ended_at: datetime | None = None
    home_shift_steps: int | None = None
    later_conditions: tuple[Conditions, ...] = ()
    datum_checks: tuple[DatumCheck, ...] = ()
    home_repeatability_mm: float | None = None

    @property
    def conditions(self) -> tuple[Conditions, ...]:
        """All conditions, as `Sweep.conditions_index` counts them."""
        return (self.header.conditions, *self.later_conditions)
