"""A batch reads alike on every surface: all of it comes from its one sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.cli.text.batch_text import batch_text
from rig.inquiry.batch import BatchOptions, BatchResult
from rig.model.rounding import round_to_uncertainty
from rig.sheets.batch_sheet import batch_sheet
from rig.tui.technician.batch_lines import (
    chart_lines,
    comparison_lines,
    figure_lines,
    head_lines,
    part_table,
    parts_picture,
    source_lines,
)
from rig.version import SOFTWARE_VERSION
from tests.report.kinds import (
    batch_of_a_table,
    batch_result,
    page_of_batch,
    part_run,
    part_runs,
    two_batches,
)
from tests.report.kinds import behind as run_behind
from tests.report.page_tree import page_tree
from tests.sheets.surfaces import numbers_in, numbers_of, shown_text

# Of the page, not of the batch: "Uncertainty (95 %)", "SHA-256", the title's version
LAYOUT = {"95", SOFTWARE_VERSION}


def on_screen(result: BatchResult) -> str:
    """Return all that the terminal UI says of batches, the number of each left out."""
    sheet = batch_sheet(result)
    mixed = 0 < sheet.simulated < sheet.total
    texts = [str(comparison_lines(sheet)), str(source_lines(sheet))]
    for number, one in enumerate(sheet.batches):
        heads, rows = part_table(one, mixed=mixed)
        texts += [str(head_lines(sheet, number)).replace(f"batch {number + 1} of", "")]
        texts += [str(figure_lines(one)), str(chart_lines(one)), *heads]
        texts += [" ".join(row) for row in rows]
        texts += parts_picture(result, sheet, number).tell()
    return "\n".join(texts)


def mixed() -> BatchResult:
    real = tuple(run_behind(part_run(k, simulated=False)) for k in range(7, 13))
    return batch_result((*part_runs(6), *real))


def three_batches() -> BatchResult:
    names = ("first", "second", "third")
    options = BatchOptions(lower=3.98, upper=4.02, subgroup=2)
    return batch_result(None, *names, options=options)


def in_classes() -> BatchResult:
    options = BatchOptions(
        lower=3.98,
        upper=4.02,
        rule="simple",
        content=0.9,
        confidence=0.8,
        class_bounds=(3.9955, 4.0021),
        class_names=("near", "middle", "far"),
    )
    return batch_result(options=options)


RESULTS = {
    "one": batch_result,
    "two": two_batches,
    "three": three_batches,
    "table": batch_of_a_table,
    "mixed": mixed,
    "classes": in_classes,
}


@pytest.mark.long
@pytest.mark.parametrize("name", RESULTS)
def test_every_number_of_text_and_page_is_one_of_the_sheet(name: str) -> None:
    result = RESULTS[name]()
    known = numbers_of(batch_sheet(result))

    text = numbers_in(batch_text(batch_sheet(result)))
    page = numbers_in(shown_text(page_of_batch(result)))

    screen = numbers_in(on_screen(result))

    assert text <= known
    assert page <= known | LAYOUT
    # In the head of the first batch: how many there are
    assert screen <= known | LAYOUT | {str(len(result.batches))}
    assert len(screen) > 20
    # What was compared is not nothing
    assert len(text) > 20
    assert len(page) > 20


@pytest.mark.long
@pytest.mark.parametrize("name", RESULTS)
def test_parts_and_figures_stand_alike_in_text_and_page(name: str) -> None:
    result = RESULTS[name]()
    sheet = batch_sheet(result)
    lines = [" ".join(row.split()) for row in batch_text(sheet).splitlines()]
    rows = [row.text for row in page_tree(page_of_batch(result)).all("tr")]
    screen = on_screen(result).splitlines()

    for batch in sheet.batches:
        for part in batch.parts:
            begins = f"{part.number} {part.part} {part.value} {part.uncertainty}"
            verdict = f"{part.sign} {part.decision}".strip()
            (line,) = [line for line in lines if line.startswith(begins)]
            assert verdict in line
            assert part.class_name in line
            assert any(
                f"{part.value}{part.uncertainty}{verdict}" in row for row in rows
            )
            shown = [*begins.split(" "), *([verdict] if verdict else [])]
            assert any(set(" ".join(shown).split()) <= set(x.split()) for x in screen)
    for row in (*(f for b in sheet.batches for f in b.figures), *sheet.differences):
        shown = " ".join(f"{row.name} {row.value} {row.interval} {row.unit}".split())
        assert any(line.startswith(shown) for line in lines)
        assert any(f"{row.value}{row.interval}{row.unit}" in one for one in rows)
        assert any(
            row.name in one and row.value in one and row.interval in one
            for one in screen
        )


def test_values_are_rounded_by_their_uncertainty_on_both_surfaces() -> None:
    result = batch_result()
    first = result.batches[0].summary.rows[0]
    assert first.expanded_uncertainty is not None
    value, uncertainty = round_to_uncertainty(first.value, first.expanded_uncertainty)

    text, page = batch_text(batch_sheet(result)), shown_text(page_of_batch(result))

    assert f"{value}" in numbers_in(text) & numbers_in(page)
    assert f"± {uncertainty}" in text
    assert f"± {uncertainty}" in page


@pytest.mark.long
@pytest.mark.parametrize("name", ["two", "three"])
def test_p_has_one_rounding_and_is_no_chance_of_no_difference(name: str) -> None:
    result = RESULTS[name]()
    found = result.comparison
    assert found is not None

    for words in (batch_text(batch_sheet(result)), shown_text(page_of_batch(result))):
        assert "if they were equal, a difference this large or larger" in words
        assert "by chance" not in words
        assert "hance p" not in words
        # Two batches have one p of their means: Welch's, not also that of the variance
        assert ("If all means were equal" in words) is (len(found.pairs) > 1)


def test_cp_and_cpk_have_their_intervals() -> None:
    result = in_classes()
    known = result.batches[0].summary.capability
    assert known is not None
    rows = {row.name: row for row in batch_sheet(result).batches[0].figures}

    assert " to " in rows["Cp"].interval
    assert rows["Cpk"].interval.startswith("at least ")
    assert float(rows["Cpk"].interval.removeprefix("at least ")) == pytest.approx(
        known.cpk_lower_bound, abs=0.06
    )
    assert {rows[name].confidence for name in ("Mean", "Cp", "Cpk")} == {"80 %"}


def test_a_decision_says_by_which_figure_alone_and_whose_limits() -> None:
    result = batch_result()
    assert result.limits is not None

    surfaces = (
        batch_text(batch_sheet(result)),
        shown_text(page_of_batch(result)),
        on_screen(result),
    )
    for words in surfaces:
        assert "Decided by the operate point alone" in words
        assert "no other limit of the data sheet or of the standard" in words
        assert result.limits.source in words
        assert "3.98 to 4.02 mm" in words


def test_without_limits_the_reason_stands_on_both_surfaces() -> None:
    result = batch_of_a_table()

    for words in (batch_text(batch_sheet(result)), shown_text(page_of_batch(result))):
        assert "No limits: no --sensor was named" in words
        assert "Decided by" not in words


def test_edges_that_were_changed_are_said_in_the_text_too() -> None:
    runs = part_runs()
    bad = run_behind(runs[0].run, intact=False)
    text = batch_text(batch_sheet(batch_result((bad, *runs[1:]))))

    assert "run-1-reference plate was changed after it was recorded" in text


def test_a_batch_simulated_in_part_says_of_which_parts() -> None:
    text = batch_text(batch_sheet(mixed()))

    assert text.startswith("SIMULATED in part: no machine was behind 6 of 12 parts.")
    marked = [line.split()[1] for line in text.splitlines() if "SIMULATED" in line][1:]
    assert marked == [f"P{k}" for k in range(1, 7)]


def test_an_open_side_is_rounded_by_the_bound_that_there_is() -> None:
    result = batch_result()
    summary = result.batches[0].summary
    assert summary.capability is not None
    capability = replace(summary.capability, cpk=1.23456, cpk_lower_bound=1.0)
    batch = replace(result.batches[0], summary=replace(summary, capability=capability))

    sheet = batch_sheet(replace(result, batches=(batch,)))
    (row,) = [row for row in sheet.batches[0].figures if row.name == "Cpk"]

    # 0.23456 to two digits is 0.23
    assert (row.value, row.interval) == ("1.23", "at least 1.00")


def test_the_screen_says_which_parts_are_simulated_where_not_all_are() -> None:
    sheet = batch_sheet(mixed())
    heads, rows = part_table(sheet.batches[0], mixed=True)

    assert "SIMULATED in part: 6 of 12 parts" in str(head_lines(sheet, 0))
    marked = [row[1] for row in rows if "SIMULATED" in row[heads.index("remark")]]
    assert marked == [f"P{k}" for k in range(1, 7)]
