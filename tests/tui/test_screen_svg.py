"""A screen as a picture: what stands on it is text there, and nothing else is."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from rich.segment import ControlType, Segment
from rich.style import Style
from rich.terminal_theme import DEFAULT_TERMINAL_THEME

from rig.tui.web.screen_svg import screen_svg

SVG = "{http://www.w3.org/2000/svg}"
CELL_WIDTH, CELL_HEIGHT = 12, 23


def drawn(*rows: list[Segment]) -> ElementTree.Element:
    return ElementTree.fromstring(screen_svg(rows, colours=DEFAULT_TERMINAL_THEME))


def texts(picture: ElementTree.Element) -> list[str]:
    return [
        (text.text or "").replace("\u00a0", " ") for text in picture.iter(f"{SVG}text")
    ]


@pytest.mark.parametrize(
    "name",
    [
        "<script>alert(1)</script>",
        '"/><image href="http://elsewhere.example/x"/>',
        "]]></text><script/>",
        "&lt;script&gt;",
        "<!--",
    ],
)
def test_markup_in_a_name_is_text_in_the_picture(name: str) -> None:
    picture = drawn([Segment("sensor "), Segment(name)])

    assert texts(picture) == [f"sensor {name}"]
    assert {part.tag for part in picture.iter()} <= {
        f"{SVG}{tag}" for tag in ("svg", "g", "rect", "text")
    }


def test_nothing_in_the_picture_refers_to_anything() -> None:
    link = Style(link="http://elsewhere.example/", color="red", underline=True)
    text = screen_svg([[Segment("a link", link)]], colours=DEFAULT_TERMINAL_THEME)

    assert "a\u00a0link" in text
    assert "elsewhere" not in text
    for word in ("href", "url(", "<style", "<script", "@"):
        assert word not in text


@pytest.mark.parametrize(
    "character", ["\x00", "\x1b", "\ufffe", "\ud800", "\t", "\x0b"]
)
def test_a_character_that_no_picture_may_hold_is_replaced(character: str) -> None:
    picture = drawn([Segment(f"a{character}b", Style(bold=True))])

    assert texts(picture) == ["a\ufffdb"]


def test_text_stands_in_its_cells() -> None:
    red = Style(color="red")
    picture = drawn(
        [
            Segment("  界 ab"),
            Segment(" c", red),
            Segment("x", None, [(ControlType.BELL,)]),
        ],
        [Segment("d".ljust(9))],
    )

    places = [
        (
            int(text.get("x", "")) / CELL_WIDTH,
            int(text.get("textLength", "")) / CELL_WIDTH,
        )
        for text in picture.iter(f"{SVG}text")
    ]
    assert texts(picture) == ["界 ab", "c", "d"]
    assert places == [(2, 5), (8, 1), (0, 1)]
    assert picture.get("viewBox") == f"0 0 {9 * CELL_WIDTH} {2 * CELL_HEIGHT}"


def test_a_ground_is_drawn_once_for_neighbours_that_share_it() -> None:
    on_blue = Style(bgcolor="#0000ff")
    row = [
        Segment("a" * 9),
        Segment("b", on_blue),
        Segment("c", on_blue + Style(bold=True)),
        Segment("d", Style(color="#0000ff", reverse=True)),
    ]

    grounds = drawn(row).findall(f"{SVG}g/{SVG}rect")

    assert [(g.get("x"), g.get("width"), g.get("fill")) for g in grounds] == [
        (str(9 * CELL_WIDTH), str(3 * CELL_WIDTH), "#0000ff")
    ]


def test_how_a_text_looks_is_kept() -> None:
    picture = drawn(
        [
            Segment("bold", Style(bold=True, color="#102030")),
            Segment("slanted", Style(italic=True, strike=True)),
            Segment("dim", Style(dim=True, color="#000000", bgcolor="#ffffff")),
        ]
    )

    bold, slanted, dim = picture.iter(f"{SVG}text")
    assert (bold.get("fill"), bold.get("font-weight")) == ("#102030", "bold")
    assert slanted.get("font-style") == "italic"
    assert slanted.get("text-decoration") == "line-through"
    assert dim.get("fill") not in ("#000000", "#ffffff")


def test_an_empty_screen_is_a_picture_too() -> None:
    assert texts(drawn()) == []
