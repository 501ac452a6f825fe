from __future__ import annotations

import itertools
import re

from rig.analysis.run.run_figures import run_figures
from rig.model.rounding import format_figure

from .conftest import make_run, report
from .page_tree import page_tree


def test_page_asks_for_nothing_from_outside(run) -> None:
    html = report(run, make_run(run_id="b"))
    page = page_tree(html)

    assert list(page.all("script", "link", "img", "iframe", "object", "embed")) == []
    for element in page.all():
        for name in ("src", "href", "xlink:href", "action"):
            assert element.attributes.get(name, "#").startswith("#")
    assert re.findall(r"@import|url\((?!#)", html) == []
    policy = page.one("meta", **{"http-equiv": "Content-Security-Policy"})
    assert policy.attributes["content"].startswith("default-src 'none'")


def test_tables_have_captions_and_headers_with_scope(run) -> None:
    page = page_tree(report(run, make_run(run_id="b")))

    assert page.one("html").attributes["lang"] == "en"
    tables = list(page.all("table"))
    assert len(tables) == 1 + 2 * 16
    for table in tables:
        assert table.one("caption").text
        assert all(head.text for head in table.all("th"))
        scopes = {head.attributes.get("scope") for head in table.all("th")}
        assert scopes <= {"col", "row", "colgroup", "rowgroup"}
        assert any(table.one("thead").all("th"))
        for row in table.all("tr"):
            assert any(row.all("th"))


def test_headings_go_down_one_level_at_a_time(run) -> None:
    levels = [int(h.tag[1]) for h in page_tree(report(run)).all("h1", "h2", "h3", "h4")]

    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


def test_ids_are_unique_and_every_reference_finds_its_own() -> None:
    html = report(make_run(run_id="a"), make_run(run_id="b"))
    page = page_tree(html)
    ids = [e.attributes["id"] for e in page.all() if "id" in e.attributes]

    assert len(ids) == len(set(ids))
    references = re.findall(r'(?:href|labelledby)="#?([^"]+)"', html)
    references += re.findall(r"url\(#([^)]+)\)", html)
    assert len(references) > 20
    assert set(references) <= set(ids)
    for number, article in enumerate(page.all("article"), start=1):
        used = [
            e.attributes[name].removeprefix("#")
            for e in article.all()
            for name in ("xlink:href", "clip-path")
            if name in e.attributes
        ]
        assert used
        assert all(f"run-{number}-points-" in reference for reference in used)


def test_plot_is_described_in_words_with_its_numbers(run) -> None:
    figures = run_figures(run)
    drawing = page_tree(report(run)).one("figure").one("svg")

    words = drawing.attributes["aria-label"]
    assert drawing.attributes["role"] == "img"
    assert str(format_figure(figures.operate)) in words
    assert str(format_figure(figures.release)) in words
    assert "void: sweep 7" in words
    labels = [text.text for text in drawing.all("text")]
    assert {"1 mm/s", "4 mm/s", "void, not used", "sweep"} <= set(labels)
    assert {"operate gap (mm)", "release gap (mm)"} <= set(labels)
