"""What the demo leaves behind, as its JSON document."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.run_document import RunDocument


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoDocument:
    """What the demo measured and wrote.

    Attributes:
        simulated: True: the demo runs on the simulated rig.
        report: File of the report.
        records: File of the records.
        runs: Runs that were measured, in order.
    """

    simulated: bool
    report: str
    records: str
    runs: tuple[RunDocument, ...]
