from __future__ import annotations

import base64
from pathlib import Path

import pytest

from .kinds import KINDS, page_of
from .page_probes import (
    CONTRASTS,
    MARGINS_MM,
    OVERHANGS,
    OVERLAPPING_LABELS,
    PAPERS_INCHES,
)
from .pdf_text import printed_pages

pytestmark = pytest.mark.long

DRAWINGS = {
    "run": 1,
    "comparison": 2,
    "plan": 1,
    "batch": 4,
    "two-batches": 8,
    "batch-of-a-table": 3,
    "study": 3,
    "lot": 3,
    "lot-by-variables": 3,
    "history": 3,
    "nonconformity": 0,
    "components": 1,
    "agreement": 1,
    "linearity": 1,
    "stability": 1,
    "single-gauge": 1,
}
UNMARKED = (
    "batch-of-a-table",
    "lot-by-variables",
    "agreement",
    "linearity",
    "stability",
    "single-gauge",
)


def opened(browser, folder: Path, kind: str) -> Path:
    page = folder / f"{kind}.html"
    page.write_text(page_of(kind), encoding="utf-8")
    browser.open(page)
    return page


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_renders_whole_and_asks_for_nothing(browser, tmp_path, kind) -> None:
    page = opened(browser, tmp_path, kind)

    assert browser.complaints() == []
    assert browser.requests() == [page.as_uri()]
    drawings = browser.evaluate(
        "[...document.querySelectorAll('figure svg')].filter("
        "s => s.getBoundingClientRect().height > 100).length"
    )
    assert drawings == DRAWINGS[kind]
    assert browser.evaluate(OVERLAPPING_LABELS) == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_text_of_every_kind_stands_out(browser, tmp_path, kind) -> None:
    opened(browser, tmp_path, kind)

    contrasts = browser.evaluate(CONTRASTS)

    assert len(contrasts) > 60
    assert [row for row in contrasts if row[0] < 4.5] == []


@pytest.mark.parametrize("paper", PAPERS_INCHES)
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_of_any_kind_reaches_beyond_the_paper(
    browser, tmp_path, kind, paper
) -> None:
    width, height = PAPERS_INCHES[paper]
    opened(browser, tmp_path, kind)
    browser.ask("Emulation.setEmulatedMedia", media="print")
    browser.ask(
        "Emulation.setDeviceMetricsOverride",
        width=int(96.0 * (width - MARGINS_MM / 25.4)),
        height=1000,
        deviceScaleFactor=1,
        mobile=False,
    )
    try:
        assert browser.evaluate(OVERHANGS) == []
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")
        browser.ask("Emulation.setEmulatedMedia", media="")

    answer = browser.ask(
        "Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True
    )
    pages = printed_pages(base64.b64decode(answer["data"]))
    assert len(pages) >= 2
    assert "Signature" in pages[-1].text
    for page in pages:
        assert page.width_pt == pytest.approx(72.0 * width, abs=1.0)
        assert page.height_pt == pytest.approx(72.0 * height, abs=1.0)
        assert ("SIMULATED" in page.text) is (kind not in UNMARKED)


def test_rows_of_a_long_table_are_all_printed_under_its_head(browser, tmp_path) -> None:
    opened(browser, tmp_path, "lot")

    answer = browser.ask("Page.printToPDF", printBackground=True)
    pages = printed_pages(base64.b64decode(answer["data"]))

    whole = "".join(page.text for page in pages)
    for number in range(1, 13):
        assert f"run-{number}-reference plate" in whole
    tables = [page for page in pages if "Verdict and why" in page.text]
    assert len(tables) >= 2
