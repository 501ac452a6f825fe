"""Certificates to print, usual ones and the longest that are sensible."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.letterhead_file import (
    LONGEST_LINE,
    LONGEST_NAME,
    MOST_LINES,
    Letterhead,
)
from rig.catalogue.logo_file import Logo
from rig.inquiry.certified import Certificate, Certified, CertifiedKind
from rig.inquiry.part_results import PartResults
from rig.inquiry.recorded_run import RecordedRun, evaluated_run
from rig.model.mounted import Target
from rig.model.sweeps import Run
from rig.report.certificate_page import certificate_report

from .kinds import calibrated, lot_evidence, lot_part, part_run, part_runs, seen_part

ISSUED = datetime(2024, 5, 7, 9, 30, tzinfo=UTC)
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 60">'
    b'<rect width="200" height="60" fill="#0b4f8a"/></svg>'
)
LOGO = Logo(media_type="image/svg+xml", data=SVG)
HEAD = Letterhead(
    name="Harbour Sensor Laboratory",
    address=("12 Mill Road", "Leeds LS1 2AB", "lab@harbour.example"),
    location="",
    note="Registered in England 012345",
    logo=LOGO,
)
WORDS = "Gauging and Inspection of Level Sensors for Silos, Tanks and Hoppers "
LONG_HEAD = Letterhead(
    name=(WORDS * 3)[:LONGEST_NAME],
    address=tuple((WORDS * 2)[k : k + LONGEST_LINE] for k in range(MOST_LINES)),
    location=(WORDS * 3)[:LONGEST_NAME],
    note=(WORDS * 4)[: 2 * LONGEST_NAME],
    logo=LOGO,
)
LONG_NAME = "LEVEL SENSOR 18 MM, PNP, NORMALLY OPEN, FOR BULK GOODS IN SILOS"
REMARK = (
    "A remark of some length that goes with the figures and tells that something of the"
    " bench was not as it should have been when this run was made."
)


def recorded(run: Run) -> RecordedRun:
    return evaluated_run(run, run_figures(run))


def of_run(run: Run) -> Certified:
    one = recorded(run)
    return Certified(
        kind=CertifiedKind.RUN,
        identity=run.header.run_id,
        found=one,
        simulated=run.header.conditions.simulated,
    )


def of_part(runs: tuple[Run, ...]) -> Certified:
    found = PartResults(
        part=runs[0].header.part,
        sensor=runs[0].header.sensor,
        runs=tuple(map(recorded, runs)),
        without=(),
        seen=(),
        statements=(),
    )
    return Certified(
        kind=CertifiedKind.PART, identity=found.part, found=found, simulated=True
    )


def of_lot(**changes: object) -> Certified:
    found = lot_evidence(**changes)
    return Certified(
        kind=CertifiedKind.LOT, identity="lot-1", found=found, simulated=True
    )


def named(run: Run, name: str) -> Run:
    """The run with long names for all that has one, and many remarks."""
    header = run.header
    conditions = replace(header.conditions, operator=name[:60], rig_id=name[:40])
    header = replace(
        header,
        sensor=replace(header.sensor, name=name),
        target=replace(header.target, name=name),
        part=name[:40],
        conditions=conditions,
    )
    return replace(run, header=header)


def of_run_with_remarks() -> Certified:
    run = named(calibrated(part_run(1)), LONG_NAME)
    figures = run_figures(run)
    remarks = tuple(f"{k}. {REMARK}" for k in range(1, 9))
    figures = replace(figures, warnings=(*figures.warnings, *remarks))
    return Certified(
        kind=CertifiedKind.RUN,
        identity="run-1",
        found=evaluated_run(run, figures),
        simulated=True,
    )


def targets(count: int) -> tuple[Target, ...]:
    return tuple(
        Target(name=f"plate {k} of polyvinyl chloride", material="pvc", thickness_mm=k)
        for k in range(1, count + 1)
    )


def failing_lot(count: int) -> Certified:
    reason = "thread damaged over its whole length, and the cable is torn at the gland"
    seen = [
        replace(seen_part(f"SERIAL-2024-{k:06d}", k), reason=reason)
        for k in range(count)
    ]
    measured = [lot_part(one) for one in part_runs()]
    return of_lot(parts=(*measured, *seen))


def certificate(certified: Certified, *, long: bool = False) -> Certificate:
    return Certificate(
        number="QM-LAB-2024-CERTIFICATE-000000000000017" if long else "C-2024-0017",
        certified=certified,
        letterhead=LONG_HEAD if long else HEAD,
        customer=(WORDS * 3)[:160] if long else "Silo Works Ltd, Hull HU1 1AA",
        customer_order=(WORDS * 2)[:60] if long else "PO-4711",
        replaces="QM-LAB-2024-CERTIFICATE-000000000000016" if long else "",
        issued_at=ISSUED,
        issued_by=LONG_NAME[:60] if long else "",
    )


def page_of_certificate(found: Certificate, *, title: str = "Certificate") -> str:
    return certificate_report(found, title=title, generated_at=ISSUED)


CERTIFICATES: dict[str, Callable[[], Certificate]] = {
    "run": lambda: certificate(of_run(calibrated(part_run(1)))),
    "real-run": lambda: certificate(of_run(part_run(1, simulated=False))),
    "part": lambda: certificate(
        of_part((part_run(1), part_run(1, shift=900, target=targets(1)[0])))
    ),
    "lot": lambda: certificate(of_lot()),
    "long-run": lambda: certificate(
        of_run(named(calibrated(part_run(1)), LONG_NAME)), long=True
    ),
    "long-run-with-remarks": lambda: certificate(of_run_with_remarks(), long=True),
    "long-part": lambda: certificate(
        of_part(
            tuple(
                part_run(1, shift=100 * k, target=target)
                for k, target in enumerate(targets(6))
            )
        ),
        long=True,
    ),
    "long-lot": lambda: certificate(failing_lot(3), long=True),
    "lot-with-many-failing": lambda: certificate(failing_lot(40)),
}
