"""A study reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

import pytest

from rig.cli.text.study_text import study_text
from rig.inquiry.study import StudyResult
from rig.sheets.study_sheet import study_sheet
from rig.version import SOFTWARE_VERSION
from tests.report.kinds import page_of_study, study_result
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page, not of the study: "do not add up to 100 %"
LAYOUT = {"100", SOFTWARE_VERSION}


def made_in_part() -> StudyResult:
    return study_result(simulated=True)


@pytest.mark.parametrize("make", [study_result, made_in_part])
def test_every_number_of_text_and_page_is_one_of_the_sheet(make) -> None:
    result = make()
    known = numbers_of(study_sheet(result))

    text = numbers_in(study_text(study_sheet(result)))
    page = numbers_in(shown_text(page_of_study(result)))

    assert text <= known
    assert page <= known | LAYOUT
    assert len(text) > 40
    assert len(page) > 40


def test_figures_stand_alike_in_text_and_page() -> None:
    result = study_result()
    sheet = study_sheet(result)
    lines = [" ".join(row.split()) for row in study_text(sheet).splitlines()]
    rows = [row.text for row in page_tree(page_of_study(result)).all("tr")]

    for row in sheet.spreads:
        cells = (row.value, row.interval, row.share, row.by_ranges)
        assert any(line.startswith(f"{row.name} {' '.join(cells)}") for line in lines)
        assert any("".join(cells) in one for one in rows)
    for row in sheet.ratios:
        shown = " ".join(f"{row.name} {row.value} {row.interval} {row.unit}".split())
        assert any(line.startswith(shown) for line in lines)
        assert any(f"{row.value}{row.interval}{row.unit}" in one for one in rows)
    for row in sheet.anova:
        cells = (
            row.source,
            row.degrees_of_freedom,
            row.sum_of_squares,
            row.mean_square,
            row.f,
            row.p,
        )
        assert " ".join(cells) in lines
        assert "".join(cells) in rows


def test_both_methods_stand_in_words_on_both_surfaces() -> None:
    result = study_result()
    sheet = study_sheet(result)
    assert any(
        "by average and range" in words.lower() or "average and range" in words
        for words in sheet.methods
    )

    for words in (study_text(sheet), shown_text(page_of_study(result))):
        for sentence in (*sheet.methods, sheet.cells):
            assert sentence in words


def test_a_study_simulated_in_part_says_so() -> None:
    text = study_text(study_sheet(made_in_part()))

    assert text.startswith("SIMULATED in part: no machine was behind 1 of 30 readings.")
