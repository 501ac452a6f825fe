from __future__ import annotations

import itertools
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from rig.inquiry.gauge_study import GaugeResult, agreement_of

from .gauge_kinds import of_agreement, page_of_gauge
from .kinds import (
    KINDS,
    PLATE,
    TARGETS,
    batch_of_a_table,
    batch_result,
    lot_entry,
    lot_evidence,
    page_of,
    page_of_batch,
    page_of_lot,
    page_of_plan,
    page_of_study,
    plan_of_targets,
    seen_part,
    study_result,
)
from .page_tree import page_tree

HOSTILE = "$\"><script>alert('x')</script><img src=x onerror=1>&amp;{{ 7*7 }}$_測\\frac"


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_tables_of_every_kind_have_captions_and_headers_with_scope(kind) -> None:
    for table in page_tree(page_of(kind)).all("table"):
        assert table.one("caption").text
        heads = list(table.all("th"))
        assert all(head.text for head in heads)
        scopes = {head.attributes.get("scope") for head in heads}
        assert scopes <= {"col", "row", "colgroup", "rowgroup"}
        columns = [
            int(head.attributes.get("colspan", 1))
            for head in table.one("thead").all("th")
        ]
        for row in (
            table.one("tbody").all("tr") if len(list(table.all("tbody"))) == 1 else ()
        ):
            assert any(row.all("th"))
            if "rowspan" not in str(table.one("thead")):
                assert len(list(row.all("th", "td"))) == sum(columns)


@pytest.mark.parametrize("kind", KINDS)
def test_headings_of_every_kind_go_down_one_level_at_a_time(kind) -> None:
    tags = page_tree(page_of(kind)).all("h1", "h2", "h3", "h4")
    levels = [int(head.tag[1]) for head in tags]

    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


@pytest.mark.parametrize("kind", KINDS)
def test_ids_of_every_kind_are_unique_and_references_find_them(kind) -> None:
    html = page_of(kind)
    page = page_tree(html)
    ids = [e.attributes["id"] for e in page.all() if "id" in e.attributes]

    assert len(ids) == len(set(ids))
    references = re.findall(r'(?:href|labelledby)="#?([^"]+)"', html)
    references += re.findall(r"url\(#([^)]+)\)", html)
    assert set(references) <= set(ids)
    assert list(page.all("script", "link", "img", "iframe")) == []
    assert re.findall(r"@import|url\((?!#)", html) == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_plot_says_in_words_what_it_shows(kind) -> None:
    for drawing in page_tree(page_of(kind)).all("svg"):
        assert drawing.attributes["role"] == "img"
        assert len(drawing.attributes["aria-label"]) > 40
        assert drawing.attributes["aria-label"].endswith(".")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_versions_and_a_line_to_sign(kind) -> None:
    page = page_tree(page_of(kind))

    assert "by Gapsweep 0.1.0" in page.one("p", class_="made").text
    signature = page.one("section", class_="signature").text
    assert all(word in signature for word in ("Name", "Date", "Signature"))


WITH_RUNS = ("run", "plan", "batch", "two-batches", "study", "lot", "components")


@pytest.mark.parametrize("kind", WITH_RUNS)
def test_every_kind_with_runs_tells_bench_calibration_and_checksum(kind) -> None:
    text = page_tree(page_of(kind)).text

    assert re.search(r"[0-9a-f]{64}", text)
    for words in ("1600 steps/mm", "Calibration of the axis", "Backlash", "1.2.0"):
        assert words in text
    if kind == "run":
        assert "certificate AX 17, calibrated on 2024-01-10, due on 2025-01-10" in text
    else:
        assert "MISSING: the axis has no calibration" in text


def hostile_ratings() -> GaugeResult:
    found = of_agreement()
    rows = tuple(
        replace(
            one,
            part=f"{one.part} {HOSTILE}",
            appraiser=HOSTILE,
            value=f"{one.value} {HOSTILE}",
            reference=f"{one.reference} {HOSTILE}",
        )
        for one in found.source.readings
    )
    return agreement_of(replace(found.source, title=HOSTILE, readings=rows))


def hostile_pages() -> dict[str, str]:
    table = batch_of_a_table()
    (one,) = table.batches
    row = replace(one.summary.rows[0], part=HOSTILE)
    summary = replace(one.summary, rows=(row, *one.summary.rows[1:]))
    batch = replace(one, name=HOSTILE, summary=summary, statements=(HOSTILE,))
    study = study_result()
    names = (HOSTILE, *study.study.parts[1:])
    study = replace(
        study,
        title=HOSTILE,
        study=replace(study.study, parts=names, appraisers=(HOSTILE, "B", "C")),
    )
    plan = plan_of_targets((replace(PLATE, name=HOSTILE), *TARGETS[1:]))
    entry = replace(lot_entry(), product=HOSTILE, supplier=HOSTILE, operator=HOSTILE)
    measured = lot_evidence().standing.parts[:-1]
    seen = replace(seen_part(), part=HOSTILE, reason=HOSTILE)
    lot = lot_evidence(lot=entry, parts=(*measured, seen))
    return {
        "batch": page_of_batch(replace(table, batches=(batch,), tables=(HOSTILE,))),
        "study": page_of_study(study, title=HOSTILE),
        "lot": page_of_lot(lot),
        "agreement": page_of_gauge(hostile_ratings(), title=HOSTILE),
        "plan": page_of_plan(replace(plan, entry=replace(plan.entry, title=HOSTILE))),
    }


@pytest.mark.long
def test_hostile_words_stay_words_in_every_kind() -> None:
    for kind, html in hostile_pages().items():
        page = page_tree(html)
        assert list(page.all("script", "img")) == [], kind
        assert HOSTILE in page.text, kind
        for element in page.all():
            assert not any(name.startswith("on") for name in element.attributes)


@pytest.mark.long
@pytest.mark.parametrize("kind", ["plan", "lot"])
def test_same_matter_gives_the_same_page_in_another_process(kind) -> None:
    program = (
        "import sys; from tests.report.kinds import page_of;"
        "sys.stdout.reconfigure(encoding='utf-8');"
        f"sys.stdout.write(page_of({kind!r}))"
    )

    other = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parents[2],
    ).stdout.decode("utf-8")

    assert other == page_of(kind)


def test_a_batch_without_batches_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one batch"):
        page_of_batch(replace(batch_result(), batches=()))
