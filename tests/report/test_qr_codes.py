"""QR codes of labels and reports, read back by a decoder that is not the encoder's.

Decoder: ZXing-C++. The code is drawn here from the SVG of the page as a browser fills
it, so that what is read is what is printed.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

import numpy as np
import numpy.typing as npt
import pytest
import zxingcpp

from rig.report.label_page import label_page
from rig.report.qr_code import qr_code
from rig.sheets.label_sheet import LabelSheet
from tests.report.certificates import CERTIFICATES, page_of_certificate
from tests.report.kinds import nonconformity_letter, page_of, page_of_nonconformity

MADE = datetime(2031, 3, 4, 9, 30, tzinfo=UTC)
PIXELS = 4  # a module
_STEP = re.compile(r"([Mmh])(-?[\d.]+)(?: ?(-?[\d.]+))?")


def drawn(svg: str) -> npt.NDArray[np.uint8]:
    """Draw the horizontal strokes of a code, black on white."""
    size = int(re.search(r'viewBox="0 0 (\d+) \1"', svg)[1])
    (path,) = re.findall(r' d="([^"]+)"', svg)
    modules = np.full((size, size), 255, np.uint8)
    x = y = 0.0
    for kind, first, second in _STEP.findall(path):
        if kind == "M":
            x, y = float(first), float(second)
        elif kind == "m":
            x, y = x + float(first), y + float(second)
        else:
            end = x + float(first)
            modules[int(y), int(x) : int(end)] = 0
            x = end
    return np.kron(modules, np.ones((PIXELS, PIXELS), np.uint8))


def codes_in(page: str) -> list[str]:
    found = re.findall(r'<svg[^>]*class="code".*?</svg>', page, re.DOTALL)
    return [zxingcpp.read_barcodes(drawn(svg))[0].text for svg in found]


@pytest.mark.parametrize(
    "text",
    ["S-1", "20261125-093412-512-7F3A", "Ä-7 µ", '<&"> 1', "7" * 60],
)
def test_a_code_is_read_as_its_text(text: str) -> None:
    (found,) = zxingcpp.read_barcodes(drawn(qr_code(text)))

    assert found.text == text
    assert found.format == zxingcpp.BarcodeFormat.QRCode


def test_every_label_carries_its_part() -> None:
    labels = [
        LabelSheet(
            part=part, what="level-18 against steel", measured="", simulated=part == "B"
        )
        for part in ("S-101", "B", '<S>&"1')
    ]

    page = label_page(labels, generated_at=MADE)

    assert codes_in(page) == ["S-101", "B", '<S>&"1']
    assert page.count("<strong>SIMULATED</strong>") == 1


@pytest.mark.parametrize(
    ("kind", "identity"),
    [
        ("run", "run-20240506-080000"),
        ("plan", "plan-1"),
        ("study", "study-1"),
        ("lot", "lot-1"),
    ],
)
def test_a_report_carries_the_identity_of_what_it_is_of(
    kind: str, identity: str
) -> None:
    page = page_of(kind)

    assert codes_in(page) == [identity]
    assert f'<p class="meaning">{identity}</p>' in page


def test_of_several_runs_each_carries_its_own() -> None:
    page = page_of("comparison")

    found = codes_in(page)
    assert len(found) == len(set(found)) == 2
    assert all(code in page for code in found)


@pytest.mark.parametrize("name", CERTIFICATES)
def test_a_certificate_carries_its_number(name: str) -> None:
    found = CERTIFICATES[name]()

    page = page_of_certificate(found, title="Inspection")

    assert codes_in(page) == [found.number]


def test_a_letter_to_a_supplier_carries_its_number() -> None:
    letter = nonconformity_letter()

    assert codes_in(page_of_nonconformity(letter)) == [letter.number]
