"""What Chromium printed: its pages, their size and text."""

from __future__ import annotations

import io
import unicodedata
from dataclasses import dataclass

from pypdf import PdfReader

# Fonts that have them draw `fi` and its like as one sign
_LIGATURES = {
    sign: unicodedata.normalize("NFKC", chr(sign)) for sign in range(0xFB00, 0xFB07)
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPage:
    width_pt: float
    height_pt: float
    text: str


def printed_pages(pdf: bytes) -> list[PrintedPage]:
    return [
        PrintedPage(
            width_pt=float(page.mediabox.width),
            height_pt=float(page.mediabox.height),
            text=" ".join(page.extract_text().translate(_LIGATURES).split()),
        )
        for page in PdfReader(io.BytesIO(pdf)).pages
    ]
