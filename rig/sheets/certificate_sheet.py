"""A certificate in rows and words, bounded so that it fits on one sheet of paper.

What it states is what ISO/IEC 17025:2017, 7.8.2 and 7.8.3, asks of a report (from
memory): title, laboratory, number, customer, method, item, dates, results with unit and
uncertainty, conditions, statement of conformity with its decision rule, who authorised.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from rig.errors import InputError
from rig.inquiry.certified import Certificate, Certified
from rig.inquiry.lot_evidence import LotEvidence
from rig.inquiry.recorded_run import RecordedRun
from rig.sheets.bench_words import Pairs, utc
from rig.sheets.certificate_matter import CertificateMatter, ResultRow
from rig.sheets.certificate_of_lot import matter_of_lot
from rig.sheets.certificate_of_runs import matter_of_part, matter_of_run
from rig.version import SOFTWARE_VERSION

NOT_GIVEN = "not given"
_ONLY_THESE = (
    "The results are of the items named here only. This document is not to be"
    " reproduced except in full."
)


class PrintSize(StrEnum):
    """How large a certificate is printed."""

    LARGE = "large"
    MEDIUM = "medium"
    SMALL = "small"


# Size of the letters in points, as the style sheet has them
_POINTS: Final = {PrintSize.LARGE: 9.4, PrintSize.MEDIUM: 8.4, PrintSize.SMALL: 7.4}
_MM_PER_POINT = 25.4 / 72.0
# Of the size of the letters: a line, the mean width of a letter with some to spare, and
# what a pair and a row of the table take beside their lines; found by printing
_LINE, _LETTER, _PAIR, _ROW = 1.28, 0.5, 0.27, 0.45
_WIDTH_MM = 180.0
# Height of Letter between the margins, less what a printer may take in addition
_HEIGHT_MM = 279.4 - 24.0 - 5.0
# Frames, headings, lines to sign and the space between, and the logo
_FIXED_MM, _SIMULATED_MM, _LOGO_MM = 46.0, 9.0, 20.0
# The title is larger by this; the number beside it has so much room, and the name of
# the laboratory above it
_TITLE, _NUMBER_MM, _NAME_MM = 1.84, 70.0, 110.0
_VALUES = 0.78  # share of the width that the values of pairs have
# To how many results are cut before any sentence is, and at the very end
_FEW_ROWS: Final = 8
_FEWEST_ROWS: Final = 3
_CELLS = (0.26, 0.19, 0.33, 0.18)  # and the cells of a row, less their padding


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateSheet:
    """All that a certificate shows.

    Attributes:
        title: Title of the document.
        number: Number of the document.
        issued: When it was issued, and by whom if that is known.
        laboratory: Name of the laboratory.
        address: Lines of its address.
        note: Line at the foot; may be empty.
        job: Customer, order, where and when it was measured.
        matter: What is said of the item.
        rows: Results, as many as fit.
        statements: Sentences that go with the results, as many as fit.
        foot: Software, and what holds for every certificate.
        print_size: How large it is printed, so that it fits.
    """

    title: str
    number: str
    issued: str
    laboratory: str
    address: tuple[str, ...]
    note: str
    job: Pairs
    matter: CertificateMatter
    rows: tuple[ResultRow, ...]
    statements: tuple[str, ...]
    foot: str
    print_size: PrintSize


def usual_title(certified: Certified) -> str:
    """Return the title of a certificate where nobody gave another."""
    return _matter(certified).title


def certificate_sheet(found: Certificate, title: str) -> CertificateSheet:
    """Lay out a certificate.

    Args:
        found: What it is about, and under which head and number.
        title: Title of the document.

    Raises:
        InputError: It has more words than one sheet of paper holds.
    """
    matter, head = _matter(found.certified), found.letterhead
    whole = CertificateSheet(
        title=title,
        number=found.number,
        issued=utc(found.issued_at) + (f" by {by}" if (by := found.issued_by) else ""),
        laboratory=head.name,
        address=head.address,
        note=head.note,
        job=_job(found, matter),
        matter=matter,
        rows=matter.rows,
        statements=matter.statements,
        foot=f"{_ONLY_THESE} Made by Gapsweep {SOFTWARE_VERSION}.",
        print_size=PrintSize.LARGE,
    )
    return _fitted(whole)


def _matter(certified: Certified) -> CertificateMatter:
    match certified.found:
        case LotEvidence() as lot:
            return matter_of_lot(lot)
        case RecordedRun() as run:
            return matter_of_run(run)
        case part:
            return matter_of_part(part)


def _job(found: Certificate, matter: CertificateMatter) -> Pairs:
    where = found.letterhead.location or "at the address above"
    replaced = (("Replaces", found.replaces),) if found.replaces else ()
    return (
        ("Customer", found.customer or NOT_GIVEN),
        ("Order", found.customer_order or NOT_GIVEN),
        ("Measured", f"{matter.measured}, {where}"),
        *replaced,
    )


def _fitted(whole: CertificateSheet) -> CertificateSheet:
    """Choose the largest print that holds it; leave out the least weighty at the end.

    Raises:
        InputError: It does not fit even so.
    """
    for size in PrintSize:
        if _height_mm(whole, size) <= _HEIGHT_MM:
            return replace(whole, print_size=size)
    for less in _shortened(replace(whole, print_size=PrintSize.SMALL)):
        if _height_mm(less, less.print_size) <= _HEIGHT_MM:
            return less
    raise InputError(
        "the certificate has more words than one sheet of paper holds",
        hint="shorten customer, order or title, or write the long report",
    )


def _shortened(whole: CertificateSheet) -> Iterator[CertificateSheet]:
    """Yield a certificate with ever less in it: first results, then sentences.

    Each says how much is left out and where it stands.
    """
    rows, said = whole.rows, whole.statements
    few = min(len(rows), _FEW_ROWS)
    steps = [(kept, len(said)) for kept in range(len(rows) - 1, few - 1, -1)]
    steps += [(few, kept) for kept in range(len(said) - 1, -1, -1)]
    steps += [(kept, 0) for kept in range(few - 1, _FEWEST_ROWS - 1, -1)]
    for many_rows, many_said in steps:
        counts = {
            "results": len(rows) - many_rows,
            "remarks": len(said) - many_said,
        }
        left = ", ".join(f"{n} more {what}" for what, n in counts.items() if n)
        yield replace(
            whole,
            rows=rows[:many_rows],
            statements=(*said[:many_said], f"In {whole.matter.more}: {left}."),
        )


def _height_mm(sheet: CertificateSheet, size: PrintSize) -> float:
    """Return how high a certificate is when it is printed, on the safe side."""
    em = _POINTS[size] * _MM_PER_POINT
    width = int(_WIDTH_MM / (_LETTER * em))  # in letters
    matter = sheet.matter
    pairs = (*sheet.job, *matter.item, *matter.method, *matter.conditions)
    lines = sum(_broken([value], width * _VALUES) + _PAIR for _, value in pairs)
    lines += _broken((*matter.about, *matter.signatures), width)
    lines += _broken((*sheet.statements, sheet.foot, sheet.note, sheet.number), width)
    for row in sheet.rows:
        cells = (row.name, row.value, f"{row.basis}; {row.limits}", row.decision)
        lines += _ROW + max(
            _broken([cell], width * share)
            for cell, share in zip(cells, _CELLS, strict=True)
        )
    line_mm = _LINE * em
    letters_per_mm = width / _WIDTH_MM
    name_lines = _broken([sheet.laboratory], _NAME_MM * letters_per_mm)
    head_mm = max(_LOGO_MM, (name_lines + len(sheet.address)) * line_mm)
    title_letters = (_WIDTH_MM - _NUMBER_MM) * letters_per_mm / _TITLE
    title_mm = max(
        _broken([sheet.title], title_letters) * _TITLE * em,
        _broken([sheet.number, sheet.issued], _NUMBER_MM * letters_per_mm) * line_mm,
    )
    return (
        _FIXED_MM
        + head_mm
        + title_mm
        + (_SIMULATED_MM if matter.simulated else 0.0)
        + lines * line_mm
    )


def _broken(texts: Iterable[str], width: float) -> int:
    """Count the lines of texts in a column of so many letters."""
    return sum(math.ceil(len(text) / width) for text in texts)
