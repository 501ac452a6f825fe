"""What `gapsweep report` does: picks the kind of report, and writes it whole."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rig.cli.batch_options import SHARE, batch_result
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.errors import InputError
from rig.inquiry.decision_rules import decision_rule
from rig.inquiry.recorded_run import runs_with_figures
from rig.report.files import write_whole
from rig.report.runs_page import run_report

_DEFAULT_RULE = "guarded"
_TITLES = {
    "runs": "Sensor measurement",
    "plan": "Measurement by plan",
    "batch": "Batch of sensors",
    "study": "Measurement-system study",
    "lot": "Inspection of a lot",
}


def write_report(options: dict[str, Any], *, out: Path, title: str | None) -> None:
    """Write the report that the command line asks for.

    Raises:
        RigError: It cannot be made, or not be written.
    """
    kind = kind_of(options)
    now = datetime.now(UTC)
    pages = {
        "runs": _runs,
        "plan": _plan,
        "batch": _batch,
        "study": _study,
        "lot": _lot,
    }
    page = pages[kind](options, title or _TITLES[kind], now)
    write_whole(out, page)
    say(f"wrote {out}")


def kind_of(options: Mapping[str, Any]) -> str:
    """Return what the report is about.

    Raises:
        InputError: Nothing was named, or two things at once.
    """
    if options["batch"]:
        if options["study_id"]:
            raise InputError("--study does not go with --batch")
        return "batch"
    named = {
        "runs": options["run_ids"],
        "plan": options["plans"],
        "study": options["study_id"],
        "lot": options["lots"],
    }
    found = [kind for kind, value in named.items() if value]
    if len(found) != 1 or len(options["plans"]) > 1 or len(options["lots"]) > 1:
        raise InputError(
            "name one thing to report: RUN..., --plan, --study or --lot",
            hint="with --batch, runs, plans and lots are taken together",
        )
    _refuse_what_does_not_go_with(found[0], options)
    return found[0]


def _refuse_what_does_not_go_with(kind: str, options: Mapping[str, Any]) -> None:
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
    if kind in ("study", "lot") and options["rule_name"] != _DEFAULT_RULE:
        raise InputError(
            "--rule goes with runs, --plan and --batch only",
            hint="the rule of a lot was chosen when it was begun",
        )


def _runs(options: Mapping[str, Any], title: str, now: datetime) -> str:
    rule = decision_rule(options["rule_name"])
    with open_store(options["records"], read_only=True) as store:
        runs = runs_with_figures(store, options["run_ids"], rule)
    return run_report(runs, title=title, generated_at=now)


def _plan(options: dict[str, Any], title: str, now: datetime) -> str:
    from rig.inquiry.plan import plan_result
    from rig.report.plan_page import plan_report

    rule = decision_rule(options["rule_name"])
    with open_store(options["records"], read_only=True) as store:
        result = plan_result(store, options["plans"][0], rule)
    return plan_report(result, title=title, generated_at=now)


def _batch(options: dict[str, Any], title: str, now: datetime) -> str:
    from rig.report.batch_page import batch_report

    return batch_report(batch_result(options), title=title, generated_at=now)


def _study(options: dict[str, Any], title: str, now: datetime) -> str:
    from rig.inquiry.study import study_on_record
    from rig.report.study_page import study_report

    with open_store(options["records"], read_only=True) as store:
        result = study_on_record(store, options["study_id"])
    return study_report(result, title=title, generated_at=now)


def _lot(options: dict[str, Any], title: str, now: datetime) -> str:
    from rig.inquiry.lot_evidence import lot_evidence
    from rig.report.lot_page import lot_report

    with open_store(options["records"], read_only=True) as store:
        found = lot_evidence(store, options["lots"][0])
    return lot_report(found, title=title, generated_at=now)
