"""What `gapsweep report` does: tells the kind of report, and writes it whole."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rig.cli.batch_options import SHARE, batch_result
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.written_page import check_page, write_page
from rig.errors import InputError
from rig.inquiry.chain_anchor import head_of
from rig.inquiry.decision_rules import decision_rule
from rig.records.run_names import runs_named
from rig.report.report_kinds import ReportKind, report_of, report_on_record

_DEFAULT_RULE = "guarded"
_OF_A_CERTIFICATE = {
    "part": "part",
    "customer": "customer",
    "customer_order": "order",
    "number": "number",
    "replaces": "replaces",
    "person": "by",
}


def write_report(
    options: dict[str, Any], *, out: Path | None, title: str | None
) -> None:
    """Write the report that the command line asks for.

    Raises:
        RigError: It cannot be made, or not be written.
    """
    for name, words in _OF_A_CERTIFICATE.items():
        if options[name]:
            raise InputError(f"--{words} goes with --certificate only")
    check_page(out)
    kind, now = kind_of(options), datetime.now(UTC)
    if kind is ReportKind.BATCH:
        result, head = batch_result(options), None
        if result.runs:
            with open_store(options["records"], read_only=True) as store:
                head = head_of(store)
        made = report_of(kind, result, now=now, title=title or "", head=head)
    else:
        with open_store(options["records"], read_only=True) as store:
            ids = _named(options)[kind]
            if kind in (ReportKind.RUNS, ReportKind.COMPARISON):
                ids = runs_named(store, ids)
            made = report_on_record(
                store,
                kind,
                ids,
                now=now,
                title=title or "",
                rule=decision_rule(options["rule_name"]),
            )
    path = write_page(out, made.html, name=made.name)
    if path is not None:
        say(f"wrote {path}")


def _named(options: Mapping[str, Any]) -> dict[ReportKind, tuple[str, ...]]:
    """Return the identities that are named, by kind."""
    study, beside, runs = options["study_id"], options["beside_id"], options["run_ids"]
    return {
        ReportKind.RUNS: () if beside else runs,
        ReportKind.COMPARISON: (*runs, beside) if beside else (),
        ReportKind.PLAN: options["plans"],
        ReportKind.STUDY: (study,) if study else (),
        ReportKind.LOT: options["lots"],
    }


def kind_of(options: Mapping[str, Any]) -> ReportKind:
    """Return what the report is about.

    Raises:
        InputError: Nothing was named, or two things at once.
    """
    if options["batch"]:
        for name in ("study", "beside"):
            if options[f"{name}_id"]:
                raise InputError(f"--{name} does not go with --batch")
        return ReportKind.BATCH
    found = [kind for kind, value in _named(options).items() if value]
    if len(found) != 1 or len(options["plans"]) > 1 or len(options["lots"]) > 1:
        raise InputError(
            "name one thing to report: RUN..., --plan, --study or --lot",
            hint="with --batch, runs, plans and lots are taken together",
        )
    if options["beside_id"] and len(options["run_ids"]) != 1:
        raise InputError(
            f"--beside sets a run beside one other, but {len(options['run_ids'])} are"
            " named",
            hint="name one run: gapsweep report RUN --beside RUN",
        )
    refuse_what_goes_with_others(found[0], options)
    return found[0]


def refuse_what_goes_with_others(kind: ReportKind, options: Mapping[str, Any]) -> None:
    """Refuse options that do not go with a kind of report.

    Raises:
        InputError: One of them is given.
    """
    of_a_batch = {
        "sensor": options["sensor"],
        "target": options["target"],
        "against": options["against"],
        "from": options["tables"],
        "figure": options["figure_name"] != "operate",
        "content": options["content"] != SHARE,
        "confidence": options["confidence"] != SHARE,
        "classes": options["classes"],
        "class-names": options["class_names"],
        "subgroup": options["subgroup"],
        "lower": options["lower"] is not None,
        "upper": options["upper"] is not None,
    }
    for name, given in of_a_batch.items():
        if given:
            raise InputError(f"--{name} goes with --batch only")
    if (
        kind in (ReportKind.STUDY, ReportKind.LOT)
        and options["rule_name"] != _DEFAULT_RULE
    ):
        raise InputError(
            "--rule goes with runs, --plan and --batch only",
            hint="the rule of a lot was chosen when it was begun",
        )
