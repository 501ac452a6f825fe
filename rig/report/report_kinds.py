"""The kinds of reports: what each asks of the records, and the page that shows it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from operator import attrgetter
from typing import Any

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.inquiry.batch import BatchResult
from rig.inquiry.certified import Certificate
from rig.inquiry.chain_anchor import Anchor, head_of
from rig.inquiry.gauge_study import GaugeResult
from rig.inquiry.lot_evidence import LotEvidence, lot_evidence
from rig.inquiry.nonconformity import NonconformityLetter
from rig.inquiry.plan import PlanResult, plan_result
from rig.inquiry.recorded_run import RecordedRun, runs_to_report
from rig.inquiry.run_comparison import RunComparison, comparison_on_record
from rig.inquiry.runs_behind import RunBehind, refuse_changed
from rig.inquiry.study import StudyResult, study_on_record
from rig.inquiry.supplier_history import ProductHistory
from rig.records import Store
from rig.report.batch_page import batch_report
from rig.report.certificate_page import certificate_report
from rig.report.comparison_page import comparison_report
from rig.report.files import file_name
from rig.report.gauge_page import gauge_report
from rig.report.history_page import history_report
from rig.report.lot_page import lot_report
from rig.report.nonconformity_page import nonconformity_report
from rig.report.page import with_chain_head
from rig.report.plan_page import plan_report
from rig.report.runs_page import run_report
from rig.report.study_page import study_report
from rig.sheets.gauge_sheet import gauge_sheet


class ReportKind(StrEnum):
    """What a report is about."""

    RUNS = "runs"
    COMPARISON = "comparison"
    PLAN = "plan"
    BATCH = "batch"
    STUDY = "study"
    GAUGE = "gauge"
    LOT = "lot"
    CERTIFICATE = "certificate"
    HISTORY = "history"
    NONCONFORMITY = "nonconformity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A report, ready to be written.

    Attributes:
        name: Name of its file: kind, subject and time, without an ending.
        html: The whole document.
    """

    name: str
    html: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Subject:
    """What names a report.

    Attributes:
        words: Words for the name of the file.
        at: When it was measured or begun, UTC; None for when it is written.
        title: What the title says after the kind; empty for nothing.
    """

    words: tuple[str, ...]
    at: datetime | None
    title: str = ""


def _of_runs(runs: Sequence[RecordedRun]) -> _Subject:
    headers = [one.run.header for one in runs]
    sensors = dict.fromkeys(header.sensor.name for header in headers)
    targets = dict.fromkeys(header.target.name for header in headers)
    if len(headers) > 1:
        return _Subject(words=tuple(sensors), at=None)
    (header,) = headers
    return _Subject(words=(*sensors, header.part, *targets), at=header.started_at)


def _of_comparison(found: RunComparison) -> _Subject:
    return _of_runs([found.later])


def _of_plan(result: PlanResult) -> _Subject:
    title = result.entry.title
    return _Subject(words=(title,), at=result.entry.created_at, title=title)


def _of_batch(result: BatchResult) -> _Subject:
    return _Subject(words=(result.sensor or "", result.figure), at=None)


def _of_study(result: StudyResult) -> _Subject:
    at = None if result.entry is None else result.entry.begun_at
    return _Subject(words=(result.title,), at=at)


def _of_gauge(result: GaugeResult) -> _Subject:
    kind = gauge_sheet(result).matter.kind
    return _Subject(words=(kind, result.source.title), at=None, title=kind)


def _of_lot(found: LotEvidence) -> _Subject:
    lot = found.standing.lot
    words = (lot.product, lot.supplier)
    return _Subject(words=words, at=lot.begun_at, title=lot.product)


def _of_certificate(found: Certificate) -> _Subject:
    words = (found.number, found.certified.identity)
    return _Subject(words=words, at=found.issued_at, title=found.number)


def _of_history(found: ProductHistory) -> _Subject:
    return _Subject(words=(found.product,), at=None, title=found.product)


def _of_nonconformity(letter: NonconformityLetter) -> _Subject:
    lot = letter.found.lot.standing.lot
    words = (letter.number, lot.product, lot.supplier)
    return _Subject(words=words, at=letter.issued_at, title=letter.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """How a report of a kind is made from the result of its inquiry."""

    title: str
    page: Callable[..., str]
    subject: Callable[[Any], _Subject]
    # The result's runs; whoever asks for the others refuses those that were changed
    runs: Callable[[Any], Iterable[RecordedRun | RunBehind]] = lambda _: ()


_KINDS: Mapping[ReportKind, _Kind] = {
    ReportKind.RUNS: _Kind(
        title="Sensor measurement",
        page=run_report,
        subject=_of_runs,
        runs=lambda found: found,
    ),
    ReportKind.COMPARISON: _Kind(
        title="Two runs of one part",
        page=comparison_report,
        subject=_of_comparison,
        runs=lambda found: (found.earlier, found.later),
    ),
    ReportKind.PLAN: _Kind(
        title="Measurement by plan",
        page=plan_report,
        subject=_of_plan,
        runs=attrgetter("runs"),
    ),
    ReportKind.BATCH: _Kind(
        title="Batch of sensors", page=batch_report, subject=_of_batch
    ),
    ReportKind.STUDY: _Kind(
        title="Measurement-system study",
        page=study_report,
        subject=_of_study,
        runs=attrgetter("runs"),
    ),
    ReportKind.GAUGE: _Kind(
        title="Study of a gauge",
        page=gauge_report,
        subject=_of_gauge,
        runs=attrgetter("source.runs"),
    ),
    ReportKind.LOT: _Kind(
        title="Inspection of a lot",
        page=lot_report,
        subject=_of_lot,
        runs=attrgetter("runs"),
    ),
    ReportKind.CERTIFICATE: _Kind(
        title="Certificate", page=certificate_report, subject=_of_certificate
    ),
    ReportKind.HISTORY: _Kind(
        title="Lots over time", page=history_report, subject=_of_history
    ),
    ReportKind.NONCONFORMITY: _Kind(
        title="Nonconformity", page=nonconformity_report, subject=_of_nonconformity
    ),
}

# Batches and studies of a gauge are not asked for by identities: whoever chooses their
# parts or readings has the result. So has whoever issues a certificate
_Inquiry = Callable[[Store, Sequence[str], Rule], Any]
_INQUIRIES: Mapping[ReportKind, _Inquiry] = {
    ReportKind.RUNS: runs_to_report,
    ReportKind.COMPARISON: lambda store, ids, rule: comparison_on_record(
        store, *ids, rule=rule
    ),
    ReportKind.PLAN: lambda store, ids, rule: plan_result(store, ids[0], rule),
    ReportKind.STUDY: lambda store, ids, _: study_on_record(store, ids[0]),
    ReportKind.LOT: lambda store, ids, _: lot_evidence(store, ids[0]),
}


def report_on_record(
    store: Store,
    kind: ReportKind,
    ids: Sequence[str],
    *,
    now: datetime,
    title: str = "",
    rule: Rule = GUARDED,
) -> Report:
    """Ask the records, and make the report.

    Args:
        store: Open records.
        kind: What it is about; no batch, no study of a gauge, no certificate.
        ids: Identities of runs, of the two that are compared, or of the one plan,
            study or lot.
        now: Time in the document, UTC.
        title: Title of the document; empty for the usual one.
        rule: Decision rule of runs and plans.

    Raises:
        RigError: It is not on record, or gives no figures to report.
    """
    with store.snapshot() as moment:
        head, result = head_of(moment), _INQUIRIES[kind](moment, ids, rule)
    return report_of(kind, result, now=now, title=title, head=head)


def report_of(
    kind: ReportKind,
    result: Any,
    *,
    now: datetime,
    title: str = "",
    head: Anchor | None = None,
) -> Report:
    """Make the report of what an inquiry has found.

    Args:
        kind: What it is about.
        result: Result of the inquiry of that kind.
        now: Time in the document, UTC.
        title: Title of the document; empty for the usual one.
        head: Head of the chain of the records that it is made from; None where it says
            nothing of it.

    Raises:
        InputError: A calibration on record cannot be used.
        RunChanged: A run behind it is not as it was written.
    """
    made = _KINDS[kind]
    refuse_changed(one.check for one in made.runs(result))
    subject = made.subject(result)
    usual = f"{made.title}: {subject.title}" if subject.title else made.title
    word = kind.value
    if kind is ReportKind.RUNS:
        word = "run" if len(result) == 1 else f"{len(result)}-runs"
    return Report(
        name=file_name(word, *subject.words, at=subject.at or now),
        html=with_chain_head(
            made.page(result, title=title or usual, generated_at=now), head
        ),
    )
