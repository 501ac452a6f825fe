"""Two runs beside one another read alike in text and page: all is of one sheet."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rig.cli.text.comparison_text import comparison_text
from rig.inquiry.run_comparison import RunComparison
from rig.report.comparison_page import comparison_report
from rig.sheets.comparison_sheet import comparison_sheet
from rig.sheets.run_sheet import run_sheet
from rig.version import SOFTWARE_VERSION
from tests.declared_benches import declared_bench
from tests.inquiry.test_run_comparison import FINE, compared
from tests.report.conftest import MADE
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page, not of the runs: "about 95 % coverage" and the version that wrote it
LAYOUT = {"95", SOFTWARE_VERSION}


def page_of(found: RunComparison) -> str:
    return comparison_report(found, title="t", generated_at=MADE)


def by_blocks() -> RunComparison:
    return compared(calibration=FINE)


def by_declaration() -> RunComparison:
    return compared(declared=declared_bench())


ANSWERS: tuple[Callable[[], RunComparison], ...] = (by_blocks, by_declaration, compared)


@pytest.mark.long
@pytest.mark.parametrize("make", ANSWERS)
def test_every_number_of_text_and_page_is_one_of_the_sheet(
    make: Callable[[], RunComparison],
) -> None:
    found = make()
    sheet = comparison_sheet(found)
    runs = [numbers_of(run_sheet(one)) for one in (found.earlier, found.later)]

    text = numbers_in(comparison_text(sheet))
    page = numbers_in(shown_text(page_of(found)))

    assert text <= numbers_of(sheet)
    assert page <= numbers_of(sheet).union(*runs) | LAYOUT
    assert min(len(text), len(page)) > 30


@pytest.mark.long
@pytest.mark.parametrize("make", ANSWERS)
def test_every_row_stands_in_text_and_page_alike(
    make: Callable[[], RunComparison],
) -> None:
    found = make()
    sheet = comparison_sheet(found)
    text = [" ".join(line.split()) for line in comparison_text(sheet).splitlines()]
    chapter = page_tree(page_of(found)).one("article", id="beside")
    rows = [" ".join(row.text.split()) for row in chapter.all("tr")]
    figures = {
        row.one("th").text: " ".join(row.text.split())
        for row in chapter.one("table", class_="compared").one("tbody").all("tr")
    }

    for row in sheet.figures:
        words = (row.name, row.earlier.brief, row.later.brief, row.ratio)
        line = f"{' '.join(words)} {row.difference.brief}, {row.agreement}"
        assert line in text
        assert figures[row.name].endswith(
            f"{row.ratio}{row.difference.brief}{row.agreement}"
        )
    for budget in sheet.budgets:
        for one in budget.rows:
            sizes = [one.earlier, one.earlier_source, one.later, one.later_source]
            told = (
                ", ".join(filter(None, sizes[:2])),
                ", ".join(filter(None, sizes[2:])),
            )
            assert f"{one.cause} {' '.join(told)} {one.change}" in text
            assert any(
                row.startswith(one.cause) and row.endswith(one.change) for row in rows
            )
    for sentence in (*sheet.statements, sheet.common, sheet.not_included):
        assert sentence in " ".join(comparison_text(sheet).split())
        assert sentence in " ".join(chapter.text.split())
    for name, values in sheet.knowledge:
        assert f"{name}{values[0]}{values[1]}" in rows


def test_what_became_narrower_has_its_budget_and_the_rest_is_named() -> None:
    sheet = comparison_sheet(by_blocks())

    shown = {budget.name for budget in sheet.budgets}
    assert {"operate point", "release point", "differential travel"} <= shown
    assert "response time, operate" not in shown
    assert any("response time, operate" in words for words in sheet.statements)


def test_what_both_rest_on_is_said_in_words() -> None:
    rests = dict(comparison_sheet(by_blocks()).knowledge)
    declared = dict(comparison_sheet(by_declaration()).knowledge)

    earlier, later = rests["Calibration of the axis"]
    assert earlier.startswith("MISSING")
    assert f"on record as {FINE.calibration_id}" in later
    assert rests["Declared of the bench"] == ("nothing", "nothing")
    earlier, later = declared["Declared of the bench"]
    assert earlier == "nothing"
    assert "offset of the touch probe" in later


def test_bars_are_as_long_as_the_contributions_are_large() -> None:
    for budget in comparison_sheet(by_blocks()).budgets:
        longest = max(max(r.earlier_percent, r.later_percent) for r in budget.rows)
        assert longest == 100.0
        for row in budget.rows:
            assert (row.earlier == "–") == (row.earlier_percent == 0.0)
            assert (row.later == "–") == (row.later_percent == 0.0)
