"""What is mounted: named for a rig, and put there on the simulated one."""

from __future__ import annotations

from rig.catalogue.catalogue import Catalogue
from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.wiring import Rig


def mounted(
    rig: Rig,
    catalogue: Catalogue,
    sensor: str | None,
    target: str | None,
    *,
    part: str = "",
) -> tuple[Sensor, Target]:
    """Return what is mounted; on a simulated rig in this process, mount it.

    A simulated sensor differs a little from part to part.

    Raises:
        InputError: Nobody says what is mounted, or the catalogue does not know it.
    """
    if rig.simulation is None:
        if sensor is None or target is None:
            missing = "sensor" if sensor is None else "target"
            raise InputError(f"no {missing} is named: say which is mounted on the rig")
        return catalogue.sensor(sensor), catalogue.target(target)
    simulation = rig.simulation
    known_sensor = (
        catalogue.sensor(sensor)
        if sensor
        else catalogue.sensor_like(simulation.principle, simulation.output)
    )
    known_target = catalogue.target(target or simulation.target)
    if known_sensor.principle is not simulation.principle and simulation.asked_for:
        raise InputError(
            f"{known_sensor.name} is {known_sensor.principle}, and the simulated rig "
            f"was asked to have a sensor that is {simulation.principle}",
            hint="leave sensor= out of the rig's name, or name another --sensor",
        )
    simulation.mount(known_sensor, known_target, part=part)
    return known_sensor, known_target
