"""Terminal text, report, screens and JSON say the same of a lot."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from rig.analysis.acceptance.attributes import Severity, attribute_plan
from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.analysis.limits.verdict import Decision
from rig.cli.text.lot_text import (
    begun_text,
    curve_text,
    decision_text,
    lot_text,
    lots_text,
    part_text,
)
from rig.cli.text.table import SIMULATED
from rig.inquiry.documents import document
from rig.inquiry.lot_curve import curve_of_plan
from rig.inquiry.lot_decision import LotDecided
from rig.inquiry.lot_evidence import LotEvidence, lot_document
from rig.inquiry.lot_inspection import inspection_of
from rig.inquiry.lot_state import LotState
from rig.sheets.lot_curve_sheet import curve_sheet
from rig.sheets.lot_outcome_sheet import decision_sheet
from rig.sheets.lot_part_rows import LotPartRow
from rig.sheets.lot_sheet import LotSheet, lot_sheet
from rig.sheets.lot_state_sheet import DISCONTINUED, next_lot_words, state_sentences
from rig.sheets.part_rows import value_words
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.inspector.lot_lines import head_line, listed_line, outlook_line
from rig.tui.widgets.part_table import cells
from rig.tui.widgets.sample_strip import sample_strip
from rig.tui.widgets.verdict_panel import lot_banner, part_banner
from tests.report.kinds import (
    lot_by_variables,
    lot_decision,
    lot_evidence,
    page_of_lot,
)

# Numbers of the layout and of its headings: coverage, checksum, paper
LAYOUT = {
    "text": {"95"},
    "page": {"95", "256"},
    "screen": set(),
}
LOTS = {
    "decided": lot_evidence,
    "open": lambda: lot_evidence(decision=None),
    "discontinued": lambda: lot_evidence(
        decision=lot_decision(accepted=False, discontinued=True)
    ),
    "by variables": lot_by_variables,
    "not begun": lambda: lot_evidence(
        parts=(), readings=(), decision=None, summary=None, runs=()
    ),
}


@pytest.fixture(params=LOTS)
def lot(request: pytest.FixtureRequest) -> LotEvidence:
    return LOTS[request.param]()


def texts_of(sheet: Any) -> Iterator[str]:
    """Give every text and number of a sheet."""
    if is_dataclass(sheet) and not isinstance(sheet, type):
        for field in fields(sheet):
            yield from texts_of(getattr(sheet, field.name))
    elif isinstance(sheet, tuple):
        for one in sheet:
            yield from texts_of(one)
    elif sheet is not None:
        yield str(sheet)


def numbers(text: str) -> set[str]:
    return set(re.findall(r"\d+(?:\.\d+)?", text))


def strange(text: str, sheet: Any, layout: set[str]) -> set[str]:
    """Return numbers of a text that are neither the sheet's nor the layout's."""
    return numbers(text) - numbers(" ".join(texts_of(sheet))) - layout


def screen_lines(sheet: LotSheet) -> str:
    head = sheet.head
    lines = [
        head_line(head).plain,
        outlook_line(head).plain,
        listed_line(head).plain,
        sample_strip(head, 80).plain,
        head.outcome.after,
    ]
    for row in head.parts:
        banner = part_banner(row)
        lines += [banner.word, banner.reason, *cells(row)]
    if head.outcome.decided:
        lines.append(lot_banner(head.outcome).reason)
    return "\n".join(lines)


def page_text(lot: LotEvidence) -> str:
    """Return the words of the report without its head, its foot and its drawings."""
    page = page_of_lot(lot)
    body = page[page.index('<article class="chapter"') : page.rindex("</article>")]
    body = re.sub(r"<svg.*?</svg>", " ", body, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


@pytest.mark.long
def test_every_number_on_every_surface_is_one_of_the_sheet(lot: LotEvidence) -> None:
    sheet = lot_sheet(lot)

    assert strange(lot_text(sheet), sheet, LAYOUT["text"]) == set()
    assert strange(page_text(lot), sheet, LAYOUT["page"]) == set()
    assert strange(screen_lines(sheet), sheet, LAYOUT["screen"]) == set()
    assert strange(begun_text(sheet.head, ()), sheet, LAYOUT["text"]) == set()
    assert strange(lots_text((sheet.head,)), sheet, LAYOUT["text"]) == set()


def test_a_number_from_elsewhere_would_be_noticed(lot: LotEvidence) -> None:
    sheet = lot_sheet(lot)

    assert strange(lot_text(sheet) + " 3.98765", sheet, LAYOUT["text"]) == {"3.98765"}


@pytest.mark.long
def test_verdict_value_and_reason_of_a_part_are_the_same_everywhere(
    lot: LotEvidence,
) -> None:
    sheet = lot_sheet(lot)
    text, page = lot_text(sheet), " ".join(page_text(lot).split())

    for row in sheet.head.parts:
        verdict = f"{row.sign} {row.decision}"
        (line,) = [one for one in text.splitlines() if one.split()[0] == row.part]
        assert verdict in line
        assert row.text in line
        assert f"{verdict} {row.reason}" in page
        assert cells(row)[:3] == (row.part, verdict, row.text)
        banner = part_banner(row)
        assert (banner.shape, banner.word) == (row.sign, row.decision.upper())
        one = part_text(row, sheet.head)
        assert verdict in one
        assert all(reason in one for reason in row.reasons)
        assert strange(one, (row, sheet.head), set()) == set()


def test_the_decision_is_the_same_everywhere(lot: LotEvidence) -> None:
    sheet = lot_sheet(lot)
    outcome, page = sheet.head.outcome, " ".join(page_text(lot).split())

    assert f"{outcome.sign} {outcome.word}" in lot_text(sheet)
    assert f"{outcome.sign} {outcome.word.upper()}" in page
    for sentence in (outcome.sentence, outcome.after):
        assert sentence in page
        assert sentence in lot_text(sheet)
    if outcome.decided:
        assert lot_banner(outcome).word == outcome.word.upper()


def test_signs_are_those_of_the_one_table(lot: LotEvidence) -> None:
    for row in lot_sheet(lot).head.parts:
        assert row.sign == VERDICT_SIGNS[Decision(row.decision)]


def test_the_document_has_the_numbers_that_the_sheet_rounds(lot: LotEvidence) -> None:
    found, sheet = document("lot", lot_document(lot)), lot_sheet(lot)

    rows = {row.part: row for row in sheet.head.parts}
    assert rows.keys() == {part["part"] for part in found["parts"]}
    for part in found["parts"]:
        assert part["decision"] == rows[part["part"]].decision
        if part["value"] is not None:
            assert shown(part) == shown_by(rows[part["part"]])
    for name in ("producer_share", "indifference_share", "consumer_share"):
        assert f"{100 * found['curve'][name]:.3g}" in sheet.curve.words
    assert found["plan"]["sample"] == lot.standing.sample
    decision = found["decision"]
    word = "not decided"
    if decision is not None:
        word = "accepted" if decision["accepted"] else "not accepted"
    assert sheet.head.outcome.word == word


def shown(part: dict[str, Any]) -> tuple[str, str]:
    return value_words(part["value"], part["expanded_uncertainty"], part["unit"])


def shown_by(row: LotPartRow) -> tuple[str, str]:
    return row.value, row.uncertainty


@pytest.mark.long
def test_a_lot_with_a_simulated_part_says_so_in_text_and_page() -> None:
    lot = lot_evidence()

    assert lot_text(lot_sheet(lot)).startswith(SIMULATED)
    assert "SIMULATED" in page_of_lot(lot)
    assert document("lot", lot_document(lot))["simulated"]


def test_a_decision_just_made_reads_as_it_does_later() -> None:
    lot = lot_evidence()
    decision = lot.standing.decision
    assert decision is not None
    just_made = LotDecided(
        simulated=decision.simulated,
        lot_id=decision.lot_id,
        accepted=decision.accepted,
        sentence=decision.sentence,
        decision=None,
        plan=lot.standing.terms.plan,
        limits=None,
        counts={},
        undecided_counted_as_nonconforming=False,
        statements=(),
        switching_state=lot.standing.state_after,
        decided_at=decision.decided_at,
    )
    sheet = decision_sheet(just_made)

    assert sheet.outcome == lot_sheet(lot).head.outcome
    assert strange(decision_text(sheet), sheet, set()) == set()


@pytest.mark.parametrize("severity", list(Severity))
def test_text_and_report_draw_on_one_curve(severity: Severity) -> None:
    plan = attribute_plan(500, aql_percent=2.5, severity=severity)
    sheet = curve_sheet(curve_of_plan(plan, inspection_of(plan, "guarded")))

    assert strange(curve_text(sheet), sheet, set()) == set()
    assert "AOQL" in sheet.outgoing
    assert sheet.outgoing in curve_text(sheet)


def test_report_and_text_show_the_average_outgoing_quality() -> None:
    lot = lot_evidence()
    sheet = lot_sheet(lot).curve
    page = " ".join(page_text(lot).split())

    assert sheet.outgoing in page
    for words in sheet.as_inspected:
        assert words in page
    for row in sheet.rows:
        assert f"{row.share} {row.acceptance} {row.as_inspected} {row.outgoing}" in page


@pytest.mark.long
def test_that_inspection_is_discontinued_is_said_in_one_way_everywhere() -> None:
    lot = LOTS["discontinued"]()
    state = SwitchingState(discontinued=True, reason="5 lots not accepted")
    found = LotState(product="level-18", supplier="", state=state)
    sheet = lot_sheet(lot)

    assert state_sentences(found)[-1] == DISCONTINUED
    assert next_lot_words(state).endswith(DISCONTINUED)
    for text in (lot_text(sheet), page_text(lot), screen_lines(sheet)):
        assert DISCONTINUED in text
        assert text.upper().count("DISCONTINUED") == 1
    quiet = lot_sheet(replace(lot, standing=lot_evidence().standing))
    assert "DISCONTINUED" not in lot_text(quiet)
