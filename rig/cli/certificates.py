"""What `gapsweep report --certificate` does: issues a certificate of one page."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rig.catalogue.letterhead_file import load_letterhead
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.reports import refuse_what_goes_with_others
from rig.cli.written_page import check_page, write_page
from rig.errors import InputError
from rig.inquiry.certified import CertifiedKind, certified
from rig.inquiry.decision_rules import decision_rule
from rig.records.run_names import runs_named
from rig.report.certificate_issue import CertificateOrder, issue_certificate
from rig.report.report_kinds import ReportKind


def write_certificate(
    options: Mapping[str, Any], *, out: Path | None, title: str | None
) -> None:
    """Issue the certificate that the command line asks for.

    Raises:
        RigError: It cannot be made, its number is taken, or it cannot be written.
    """
    kind, identity = _subject(options)
    order = CertificateOrder(
        letterhead=load_letterhead(options["letterhead"]),
        customer=options["customer"],
        customer_order=options["customer_order"],
        number=options["number"],
        replaces=options["replaces"],
        title=title or "",
        person=options["person"],
    )
    check_page(out)
    written: list[Path | None] = []
    with open_store(options["records"]) as store:
        if kind is CertifiedKind.RUN:
            (identity,) = runs_named(store, [identity])
        issued = issue_certificate(
            store,
            certified(
                store,
                kind,
                identity,
                rule=decision_rule(options["rule_name"]),
                sensor=options["sensor"],
            ),
            order,
            now=datetime.now(UTC),
            write=lambda report: written.append(
                write_page(out, report.html, name=report.name)
            ),
        )
    for path in written:
        if path is not None:
            say(f"wrote {path}: number {issued.number}")


def _subject(options: Mapping[str, Any]) -> tuple[CertifiedKind, str]:
    """Return what the certificate is about.

    Raises:
        InputError: Not one thing is named, or something that does not go with it.
    """
    named = [(CertifiedKind.RUN, run_id) for run_id in options["run_ids"]]
    named += [(CertifiedKind.LOT, lot_id) for lot_id in options["lots"]]
    named += [(CertifiedKind.PART, part) for part in [options["part"]] if part]
    others = {
        "plan": options["plans"],
        "study": options["study_id"],
        "batch": options["batch"],
        "beside": options["beside_id"],
    }
    for name, given in others.items():
        if given:
            raise InputError(f"--{name} does not go with --certificate")
    if len(named) != 1:
        raise InputError(
            "name one thing to certify: a RUN, --part or --lot",
            hint="each certificate has one page and one number of its own",
        )
    ((kind, identity),) = named
    if options["sensor"] and kind is not CertifiedKind.PART:
        raise InputError("--sensor goes with --part only")
    long_report = ReportKind.LOT if kind is CertifiedKind.LOT else ReportKind.RUNS
    refuse_what_goes_with_others(long_report, {**options, "sensor": None})
    return kind, identity
