"""A letterhead and its logo: read whole, or refused with the place and the reason."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest

from rig.catalogue.letterhead_file import load_letterhead
from rig.catalogue.logo_file import MOST_ELEMENTS, MOST_LOGO_BYTES, load_logo
from rig.errors import InputError

WHOLE = """
name = "Harbour Sensor Laboratory"
address = ["12 Mill Road", "Leeds LS1 2AB"]
location = "Hall 3"
note = "Registered in England 012345"
logo = "logo.svg"
"""
SVG = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 viewBox="0 0 20 6"><title>Harbour</title>
<style>.a { fill: url("#g"); stroke: #fff }</style>
<defs><linearGradient id="g"><stop offset="0"/></linearGradient></defs>
<rect class="a" width="20" height="6" fill="url(#g)"/><use xlink:href="#g"/>{more}
</svg>
"""


def chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib.crc32(kind + data)
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)


def png(width: int = 2, height: int = 1) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    pixels = zlib.compress(b"\0" + b"\x10\x50\x90" * 2)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        (chunk(b"IHDR", head), chunk(b"IDAT", pixels), chunk(b"IEND", b""))
    )


def svg(more: str = "") -> str:
    return SVG.replace("{more}", more)


def written(folder: Path, name: str, content: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_a_letterhead_is_read_with_its_logo(tmp_path: Path) -> None:
    written(tmp_path, "logo.svg", svg())

    found = load_letterhead(written(tmp_path, "lab.toml", WHOLE))

    assert found.name == "Harbour Sensor Laboratory"
    assert found.address == ("12 Mill Road", "Leeds LS1 2AB")
    assert (found.location, found.note) == ("Hall 3", "Registered in England 012345")
    assert found.logo is not None
    assert found.logo.media_type == "image/svg+xml"
    assert found.logo.data == svg().encode()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('address = ["a"]', "field 'name' is missing"),
        ('name = "L"', "field 'address' is missing"),
        ('name = ""\naddress = ["a"]', "must not be empty"),
        (f'name = "{"L" * 81}"\naddress = ["a"]', "at most 80 characters"),
        (f'name = "L"\naddress = ["{"a" * 61}"]', "at most 60 characters"),
        (f'name = "L"\naddress = {["a"] * 6}', "at most 5"),
        ('name = "L"\naddress = ["a\\u202eb"]', "U+202E"),
        ('name = "L"\naddress = ["a"]\nphone = "1"', "unknown field 'phone'"),
        ('name = "L"\naddress = ["a"]\nlogo = "no.png"', "line 3: there is no file"),
        ('name = "L"\naddress = ["a"]\n#' + "x" * 20_000, "0.02 MB"),
    ],
)
def test_a_letterhead_that_is_not_right_is_refused(
    tmp_path: Path, text: str, words: str
) -> None:
    with pytest.raises(InputError) as refused:
        load_letterhead(written(tmp_path, "lab.toml", text))

    assert words in str(refused.value)


def test_a_png_is_taken_as_it_is(tmp_path: Path) -> None:
    found = load_logo(written(tmp_path, "logo.png", png()))

    assert (found.media_type, found.data) == ("image/png", png())


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (png()[:-6], "cut short"),
        (png()[:40] + b"\xff" + png()[41:], "damaged"),
        (png() + b"<script>", "more after the picture"),
        (png(width=100_000), "100000 x 1 pixels"),
        (png(height=0), "2 x 0 pixels"),
        (b"\x89PNG\r\n\x1a\n", "cut short"),
        (b"GIF89a", "neither a PNG nor an SVG"),
        (b"", "neither a PNG nor an SVG"),
        (b" " * (MOST_LOGO_BYTES + 1), "more than 0.2 MB"),
    ],
)
def test_a_picture_that_is_damaged_or_no_picture_is_refused(
    tmp_path: Path, data: bytes, words: str
) -> None:
    with pytest.raises(InputError) as refused:
        load_logo(written(tmp_path, "logo.png", data))

    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("<script>alert(1)</script>", "<script>"),
        ('<h:script xmlns:h="http://www.w3.org/1999/xhtml"/>', "<script>"),
        ('<g onclick="alert(1)"/>', "program in the attribute 'onclick'"),
        ('<g OnLoad="alert(1)"/>', "program in the attribute 'OnLoad'"),
        ('<use xlink:href="http://a.example/b.svg#c"/>', "reference to 'http"),
        ('<use href="b.svg#c"/>', "reference to 'b.svg"),
        ('<use href="data:image/svg+xml,x"/>', "reference to 'data:"),
        ('<image href="#g"/>', "<image>"),
        ('<a href="#g"/>', "<a>"),
        ("<foreignObject/>", "<foreignObject>"),
        ('<animate attributeName="href"/>', "<animate>"),
        ('<set attributeName="href"/>', "<set>"),
        ('<g fill="url(http://a.example/p)"/>', "reference or an escape"),
        ("<g style=\"fill: url( 'b.svg#c')\"/>", "reference or an escape"),
        ("<style>@import 'b.css';</style>", "@import"),
        ("<style>@im<!-- -->port 'b.css'</style>", "@import"),
        ("<style>@im<g/>port 'b.css'</style>", "@import"),
        ("<style><![CDATA[@IMPORT 'b.css';]]></style>", "@IMPORT"),
        ("<style>g { fill: u\\72l(b.svg) }</style>", "escape"),
        ("<style>g { cursor: image-set('b.png' 1x) }</style>", "image-set("),
        ('<g xml:base="http://a.example/"/>', "'base'"),
        ('<g x:y="1" xmlns:x="urn:x"/>', "another vocabulary"),
        ("<?xml-stylesheet href='b.css'?>", "<?xml-stylesheet>"),
        ("<g>" * 60 + "</g>" * 60, "50 levels"),
        ("<g/>" * MOST_ELEMENTS, "more than 5000 elements"),
        ("<g>", "no valid SVG"),
    ],
)
def test_an_svg_that_could_do_or_fetch_anything_is_refused(
    tmp_path: Path, more: str, words: str
) -> None:
    with pytest.raises(InputError) as refused:
        load_logo(written(tmp_path, "logo.svg", svg(more)))

    assert words in str(refused.value)
    assert "plain SVG" in refused.value.hint


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>',
        '<!DOCTYPE svg SYSTEM "http://a.example/x.dtd">',
    ],
)
def test_an_svg_with_a_document_type_is_refused(tmp_path: Path, head: str) -> None:
    text = f'{head}<svg xmlns="http://www.w3.org/2000/svg"/>'

    with pytest.raises(InputError, match="document type"):
        load_logo(written(tmp_path, "logo.svg", text))


def test_a_page_that_is_no_svg_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="<html>"):
        load_logo(written(tmp_path, "logo.svg", "<html><body/></html>"))
    with pytest.raises(InputError, match="outermost"):
        load_logo(
            written(tmp_path, "logo.svg", '<g xmlns="http://www.w3.org/2000/svg"/>')
        )
