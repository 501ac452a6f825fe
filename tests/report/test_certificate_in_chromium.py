"""A certificate prints on one sheet, of A4 and of Letter, and nothing of it is cut."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest

from .certificates import CERTIFICATES, page_of_certificate
from .page_probes import CONTRASTS, OVERHANGS, PAPERS_INCHES
from .pdf_text import printed_pages

pytestmark = pytest.mark.long

TITLE = "Certificate of measurement and inspection of sensors, new"  # near the bound


def opened(browser, folder: Path, name: str) -> Path:
    page = folder / f"{name}.html"
    page.write_text(page_of_certificate(CERTIFICATES[name](), title=TITLE), "utf-8")
    browser.open(page)
    return page


@pytest.mark.parametrize("paper", PAPERS_INCHES)
@pytest.mark.parametrize("name", CERTIFICATES)
def test_it_prints_on_exactly_one_sheet_with_every_word(
    browser, tmp_path, name, paper
) -> None:
    width, height = PAPERS_INCHES[paper]
    opened(browser, tmp_path, name)

    answer = browser.ask(
        "Page.printToPDF",
        paperWidth=width,
        paperHeight=height,
        printBackground=True,
        preferCSSPageSize=False,
    )
    pages = printed_pages(base64.b64decode(answer["data"]))

    assert len(pages) == 1
    assert pages[0].width_pt == pytest.approx(72.0 * width, abs=1.0)
    assert pages[0].height_pt == pytest.approx(72.0 * height, abs=1.0)
    assert "end of the document" in pages[0].text
    # What is printed is what the page says, word for word
    wanted = browser.evaluate("document.querySelector('main').innerText")
    printed = re.sub(r"\s", "", pages[0].text)
    missing = [word for word in wanted.split() if word not in printed]
    assert missing == []


@pytest.mark.parametrize("name", CERTIFICATES)
def test_nothing_of_it_reaches_beyond_its_column(browser, tmp_path, name) -> None:
    opened(browser, tmp_path, name)
    browser.ask("Emulation.setEmulatedMedia", media="print")
    try:
        assert browser.evaluate(OVERHANGS) == []
    finally:
        browser.ask("Emulation.setEmulatedMedia", media="")


def test_a_certificate_shows_its_logo_and_asks_for_nothing(browser, tmp_path) -> None:
    page = opened(browser, tmp_path, "run")

    asked = [url for url in browser.requests() if not url.startswith("data:")]
    assert asked == [page.as_uri()]
    assert browser.complaints() == []
    assert browser.evaluate(
        "[...document.images].map(i => i.complete && i.naturalWidth > 0)"
    ) == [True]
    contrasts = browser.evaluate(CONTRASTS)
    assert len(contrasts) > 60
    assert [row for row in contrasts if row[0] < 4.5] == []
