"""A certificate says what it must, keeps hostile words as words, and is bounded.

What it must say: ISO/IEC 17025:2017, 7.8.2.1 and 7.8.3.1, from memory.
"""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from datetime import timedelta

import pytest

from rig.analysis.limits.verdict import Decision
from rig.errors import InputError
from rig.records.lot_entries import Signature
from rig.sheets.certificate_sheet import certificate_sheet

from .certificates import (
    CERTIFICATES,
    HEAD,
    ISSUED,
    SVG,
    certificate,
    failing_lot,
    named,
    of_lot,
    of_part,
    of_run,
    page_of_certificate,
    targets,
)
from .conftest import BEGUN
from .kinds import calibrated, lot_evidence, part_run
from .page_tree import page_tree

HOSTILE = "$\"><script>alert('x')</script><img src=x onerror=1>&amp;{{ 7*7 }}$_測"


@pytest.mark.parametrize("name", CERTIFICATES)
def test_it_names_all_that_a_report_must_name(name) -> None:
    found = CERTIFICATES[name]()
    text = page_tree(page_of_certificate(found, title="Inspection")).text

    head = found.letterhead
    for wanted in (head.name, *head.address, found.number, found.customer):
        assert wanted in text
    assert found.customer_order in text
    assert "issued 2024-05-07 09:30:00 UTC" in text
    assert "2024-05-06 08:00:00 UTC" in text  # when it was measured
    assert "guarded acceptance and guarded rejection" in text
    assert "expanded uncertainty" in text
    assert "of the items named here only" in text
    assert f"{found.number}, page 1 of 1, end of the document" in text
    assert "Calibration of the axis" in text
    assert ("SIMULATED" in text) is (name != "real-run")
    for line in ("Measured by", "Authorised by", "Date", "Signature"):
        assert line in text


def test_a_run_has_values_with_uncertainty_limits_and_verdicts() -> None:
    text = page_tree(page_of_certificate(CERTIFICATES["run"]())).text

    # The edges are 4 mm off the face; 7.2 to 8.8 mm are 90 to 110 % of the rated 8 mm
    shown = re.search(r"\((\d\.\d+) ± 0\.0\d+\) mm", text)
    assert shown is not None
    assert float(shown[1]) == pytest.approx(4.0, abs=0.01)
    assert "7.2 to 8.8 mm" in text
    assert "✗ DOES NOT CONFORM" in text
    assert "not tested: R" in text
    assert "certificate AX 17, calibrated on 2024-01-10" in text


def test_a_delay_within_its_limit_does_not_make_a_part_conform() -> None:
    plates = targets(2)
    runs = tuple(part_run(1, target=plate) for plate in plates)

    sheet = certificate_sheet(certificate(of_part(runs)), "Inspection")

    assert sheet.matter.verdict == "no verdict"
    assert any("✓ conforms" in row.decision for row in sheet.rows)
    assert "No verdict: the target is pvc" in " ".join(sheet.matter.about)


def test_a_lot_names_its_parts_that_do_not_conform_and_how_many_more() -> None:
    sheet = certificate_sheet(certificate(failing_lot(40)), "Inspection")
    text = page_tree(page_of_certificate(certificate(failing_lot(40)))).text

    assert sheet.matter.verdict == "lot accepted"
    assert "SERIAL-2024-000000" in text
    left = len(sheet.matter.rows) - len(sheet.rows)
    assert left > 20
    assert f"In the report of the lot: {left} more results" in text


@pytest.mark.long
def test_all_that_is_left_out_is_counted() -> None:
    for make in CERTIFICATES.values():
        sheet = certificate_sheet(make(), "Inspection")
        rows = len(sheet.matter.rows) - len(sheet.rows)
        kept = [said for said in sheet.statements if said in sheet.matter.statements]
        remarks = len(sheet.matter.statements) - len(kept)
        told = " ".join(sheet.statements)
        assert (f"{rows} more results" in told) is bool(rows)
        assert (f"{remarks} more remarks" in told) is bool(remarks)


def test_the_logo_stands_in_the_page_as_data_and_nothing_else_is_asked_for() -> None:
    html = page_of_certificate(CERTIFICATES["run"]())
    page = page_tree(html)

    (image,) = page.all("img")
    kind, _, data = image.attributes["src"].partition(";base64,")
    assert kind == "data:image/svg+xml"
    assert base64.b64decode(data) == SVG
    assert image.attributes["alt"] == "Logo of Harbour Sensor Laboratory"
    assert re.findall(r"@import|url\(", html) == []
    assert "default-src 'none'; style-src 'unsafe-inline'; img-src data:" in html


def test_hostile_words_stay_words() -> None:
    made = certificate(of_run(named(calibrated(part_run(1)), HOSTILE)))
    head = replace(HEAD, name=HOSTILE, address=(HOSTILE,), note=HOSTILE, logo=None)
    made = replace(made, letterhead=head, customer=HOSTILE, customer_order=HOSTILE)

    page = page_tree(page_of_certificate(replace(made, number=HOSTILE), title=HOSTILE))

    assert list(page.all("script", "img")) == []
    assert page.text.count(HOSTILE) > 8
    for element in page.all():
        assert not any(name.startswith("on") for name in element.attributes)


def test_more_than_a_sheet_holds_is_refused() -> None:
    name = "level sensor " * 400

    with pytest.raises(InputError, match="more words than one sheet"):
        certificate_sheet(certificate(of_run(named(part_run(1), name))), "Inspection")


def test_signatures_and_readings_that_do_not_count_stand_in_view() -> None:
    signed = Signature(
        person="B. Weiss",
        meaning="approved",
        statement="I approve what was decided about this lot",
        at=ISSUED,
        entry=7,
        hash="ab" * 32,
    )
    parts = lot_evidence().standing.parts
    failed = replace(parts[0], decision="does not conform")
    failed = replace(failed, entered_at=BEGUN - timedelta(minutes=5))
    evidence = lot_evidence(signatures=(signed,), readings=(failed, *parts))
    found = replace(of_lot(), found=evidence)

    text = page_tree(page_of_certificate(certificate(found))).text

    assert "B. Weiss" in text
    assert "approve" in text
    assert f"Part {failed.part}" in text
    assert "does not conform" in text


def test_an_undecided_part_of_a_lot_is_named() -> None:
    sheet = certificate_sheet(certificate(of_lot()), "Inspection")

    odd = [row for row in sheet.rows if row.name.startswith("part ")]
    assert [row.decision for row in odd] == [
        f"? {Decision.UNDECIDED}",
        f"✗ {Decision.DOES_NOT_CONFORM}",
    ]
