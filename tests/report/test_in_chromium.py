from __future__ import annotations

import base64
from pathlib import Path

import pytest

from .conftest import at_one_speed, make_run, report
from .page_probes import (
    CONTRASTS,
    MARGINS_MM,
    OVERHANGS,
    OVERLAPPING_LABELS,
    PAPERS_INCHES,
)
from .pdf_text import printed_pages

pytestmark = pytest.mark.long


def write(folder: Path, *runs, title: str = "Incoming inspection") -> Path:
    page = folder / "report.html"
    page.write_text(
        report(*runs, title=title),
        encoding="utf-8",
    )
    return page


def three_runs():
    return (
        make_run(run_id="run-a"),
        make_run(run_id="run-b", sweeps=60, void_index=31, simulated=False),
        at_one_speed(make_run(run_id="run-c", void_index=None)),
    )


def test_page_renders_without_complaint_or_outside_request(browser, tmp_path) -> None:
    page = write(tmp_path, *three_runs())

    browser.open(page)

    assert browser.complaints() == []
    assert browser.requests() == [page.as_uri()]
    assert browser.evaluate("document.querySelectorAll('figure svg').length") == 3
    picture = base64.b64decode(browser.ask("Page.captureScreenshot")["data"])
    assert picture.startswith(b"\x89PNG")
    assert len(picture) > 10_000  # more than a blank sheet compresses to


def test_watch_on_requests_and_complaints_can_bite(browser, tmp_path) -> None:
    page = tmp_path / "bad.html"
    page.write_text(
        "<img src='missing.png'><script>console.error('x')</script>", encoding="utf-8"
    )

    browser.open(page)

    assert (tmp_path / "missing.png").as_uri() in browser.requests()
    assert browser.complaints()


def test_hostile_name_stays_text(browser, tmp_path) -> None:
    name = "<img src=x onerror=\"document.title='hit'\"><script>document.title='hit'"
    browser.open(write(tmp_path, make_run(sensor_name=name), title=name))

    assert browser.evaluate("document.images.length + document.scripts.length") == 0
    assert browser.evaluate("document.title") == f"SIMULATED: {name}"
    assert name in browser.evaluate("document.querySelector('h2').textContent")


def test_every_text_stands_out_from_its_ground(browser, tmp_path) -> None:
    browser.open(write(tmp_path, *three_runs()))

    contrasts = browser.evaluate(CONTRASTS)

    assert len(contrasts) > 300
    assert [row for row in contrasts if row[0] < 4.5] == []


def test_no_two_labels_of_a_plot_overlap(browser, tmp_path) -> None:
    browser.open(write(tmp_path, *three_runs(), make_run(sweeps=400)))

    assert browser.evaluate(OVERLAPPING_LABELS) == []


@pytest.mark.parametrize("paper", PAPERS_INCHES)
def test_nothing_reaches_beyond_the_paper(browser, tmp_path, paper) -> None:
    width_px = int(96.0 * (PAPERS_INCHES[paper][0] - MARGINS_MM / 25.4))
    long_name = "level sensor of the third silo " * 6 + "x" * 120
    browser.open(write(tmp_path, *three_runs(), make_run(sensor_name=long_name)))
    browser.ask("Emulation.setEmulatedMedia", media="print")
    browser.ask(
        "Emulation.setDeviceMetricsOverride",
        width=width_px,
        height=1000,
        deviceScaleFactor=1,
        mobile=False,
    )
    try:
        assert browser.evaluate("matchMedia('print').matches")
        assert browser.evaluate("innerWidth") == width_px
        assert browser.evaluate(OVERHANGS) == []
    finally:
        browser.ask("Emulation.clearDeviceMetricsOverride")
        browser.ask("Emulation.setEmulatedMedia", media="")


@pytest.mark.parametrize("paper", PAPERS_INCHES)
def test_prints_with_header_and_mark_on_every_page(browser, tmp_path, paper) -> None:
    width, height = PAPERS_INCHES[paper]
    browser.open(write(tmp_path, make_run(sweeps=120, void_index=31)))

    answer = browser.ask(
        "Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True
    )
    pages = printed_pages(base64.b64decode(answer["data"]))

    assert len(pages) >= 5
    for page in pages:
        assert page.width_pt == pytest.approx(72.0 * width, abs=1.0)
        assert page.height_pt == pytest.approx(72.0 * height, abs=1.0)
        assert "SIMULATED" in page.text
    whole = "".join(page.text for page in pages)
    assert "level 18, nest 3 against reference plate" in whole
    assert "an edge came outside the expected band" in whole
    sweep_pages = [page for page in pages if "with delay" in page.text]
    assert len(sweep_pages) >= 3


def test_printed_report_of_a_real_rig_has_no_mark(browser, tmp_path) -> None:
    browser.open(write(tmp_path, make_run(simulated=False)))

    pages = printed_pages(base64.b64decode(browser.ask("Page.printToPDF")["data"]))

    assert "run-20240506-080000" in pages[-1].text
    assert not any("SIMULATED" in page.text for page in pages)
