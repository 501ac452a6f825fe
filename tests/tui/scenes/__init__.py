"""Every screen of the terminal UI in states that hold still, by name."""

from __future__ import annotations

from tests.tui.scenes.batch import SCENES as BATCH
from tests.tui.scenes.calibration import SCENES as CALIBRATION
from tests.tui.scenes.carry_on import SCENES as CARRY_ON
from tests.tui.scenes.declaration import SCENES as DECLARATION
from tests.tui.scenes.everybody import SCENES as EVERYBODY
from tests.tui.scenes.gauge import SCENES as GAUGE
from tests.tui.scenes.inspector import SCENES as INSPECTOR
from tests.tui.scenes.instructor import SCENES as INSTRUCTOR
from tests.tui.scenes.products import SCENES as PRODUCTS
from tests.tui.scenes.study import SCENES as STUDY
from tests.tui.scenes.suppliers import SCENES as SUPPLIERS
from tests.tui.scenes.technician import SCENES as TECHNICIAN
from tests.tui.scenes.trimmer import SCENES as TRIMMER

SCENES = {
    **EVERYBODY,
    **CARRY_ON,
    **DECLARATION,
    **TECHNICIAN,
    **BATCH,
    **STUDY,
    **GAUGE,
    **CALIBRATION,
    **TRIMMER,
    **INSPECTOR,
    **PRODUCTS,
    **SUPPLIERS,
    **INSTRUCTOR,
}
