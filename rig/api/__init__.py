"""Gapsweep from Python: what scripts and notebooks may rely on.

`Records` opens records and gives runs, tables and points; `ConnectedRig` measures on a
rig or on the simulated one. What stands in `__all__`, with the fields of what these
return, changes only as DEVELOPERS.md says under "The Python API"; everything else in
`rig` may change at any time. Errors are those of `rig.errors`; all of them are
`RigError`, and what would be right stands in their `hint`.

Each name is loaded when it is first asked for: the command line takes modules of this
package too, and its help must answer at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rig.api.connected_rig import ConnectedRig as ConnectedRig
    from rig.api.recorded_data import Records as Records
    from rig.api.recorded_data import RunPoints as RunPoints
    from rig.api.sweep_now import SweptRun as SweptRun
    from rig.errors import RigError as RigError
    from rig.inquiry.batch import BatchResult as BatchResult
    from rig.inquiry.plan import PlanResult as PlanResult
    from rig.inquiry.recorded_run import RecordedRun as RecordedRun
    from rig.records.entries import RunFilter as RunFilter
    from rig.records.export_columns import ExportTable as ExportTable

_MODULES = {
    "BatchResult": "rig.inquiry.batch",
    "ConnectedRig": "rig.api.connected_rig",
    "ExportTable": "rig.records.export_columns",
    "PlanResult": "rig.inquiry.plan",
    "RecordedRun": "rig.inquiry.recorded_run",
    "Records": "rig.api.recorded_data",
    "RigError": "rig.errors",
    "RunFilter": "rig.records.entries",
    "RunPoints": "rig.api.recorded_data",
    "SweptRun": "rig.api.sweep_now",
}
__all__ = (
    "BatchResult",
    "ConnectedRig",
    "ExportTable",
    "PlanResult",
    "RecordedRun",
    "Records",
    "RigError",
    "RunFilter",
    "RunPoints",
    "SweptRun",
)


def __getattr__(name: str) -> object:
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_MODULES[name]), name)


def __dir__() -> list[str]:
    # Completion and `pydoc` look here before anything is asked for
    return sorted({*globals(), *__all__})
