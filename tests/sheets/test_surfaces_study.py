"""A study reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

import pytest

from rig.cli.text.study_text import study_text
from rig.inquiry.study import StudyResult
from rig.sheets.study_sheet import study_sheet
from rig.tui.technician.study_lines import (
    VARIANCE_HEADS,
    component_lines,
    method_lines,
    result_head,
    source_lines,
    variance_cells,
)
from rig.version import SOFTWARE_VERSION
from tests.report.kinds import page_of_study, study_result
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page, not of the study: "do not add up to 100 %"
LAYOUT = {"100", SOFTWARE_VERSION}


def on_screen(result: StudyResult) -> str:
    """Return all that the terminal UI says of a study that is worked out."""
    sheet = study_sheet(result)
    pages = (result_head, component_lines, method_lines, source_lines)
    texts = [str(page(sheet)) for page in pages]
    return "\n".join([*texts, *(" ".join(row) for row in variance_cells(sheet))])


def made_in_part() -> StudyResult:
    return study_result(simulated=True)


@pytest.mark.long
@pytest.mark.parametrize("make", [study_result, made_in_part])
def test_every_number_of_text_and_page_is_one_of_the_sheet(make) -> None:
    result = make()
    known = numbers_of(study_sheet(result))

    text = numbers_in(study_text(study_sheet(result)))
    page = numbers_in(shown_text(page_of_study(result)))

    screen = numbers_in(on_screen(result))

    assert text <= known
    assert screen <= known
    assert len(screen) > 40
    assert page <= known | LAYOUT
    assert len(text) > 40
    assert len(page) > 40


def test_figures_stand_alike_in_text_and_page() -> None:
    result = study_result()
    sheet = study_sheet(result)
    lines = [" ".join(row.split()) for row in study_text(sheet).splitlines()]
    rows = [row.text for row in page_tree(page_of_study(result)).all("tr")]
    screen = on_screen(result)

    for row in sheet.spreads:
        cells = (row.value, row.interval, row.share, row.by_ranges)
        assert any(line.startswith(f"{row.name} {' '.join(cells)}") for line in lines)
        assert any("".join(cells) in one for one in rows)
        assert all(cell in screen for cell in cells)
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
        assert sorted(cells) in [sorted(row) for row in variance_cells(sheet)]
    assert len(VARIANCE_HEADS) == len(variance_cells(sheet)[0])


def test_both_methods_stand_in_words_on_both_surfaces() -> None:
    result = study_result()
    sheet = study_sheet(result)
    assert any(
        "by average and range" in words.lower() or "average and range" in words
        for words in sheet.methods
    )

    surfaces = (study_text(sheet), shown_text(page_of_study(result)), on_screen(result))
    for words in surfaces:
        for sentence in (*sheet.methods, sheet.cells):
            assert sentence in words


def test_a_study_simulated_in_part_says_so() -> None:
    text = study_text(study_sheet(made_in_part()))

    assert text.startswith("SIMULATED in part: no machine was behind 1 of 30 readings.")
    assert "SIMULATED in part: 1 of 30 readings" in on_screen(made_in_part())
