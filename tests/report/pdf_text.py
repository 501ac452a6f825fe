"""Just enough of PDF to read what Chromium printed: its pages, their size and text."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass

_OBJECT = re.compile(rb"(?<!\d)(\d+) 0 obj\n(.*?)\nendobj", re.DOTALL)
_PAIR = re.compile(rb"<([0-9A-Fa-f]+)> <([0-9A-Fa-f]+)>(?: <([0-9A-Fa-f]+)>)?")
_SHOWN = re.compile(rb"/(\w+) [\d.-]+ Tf|<([0-9A-Fa-f]+)>")


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPage:
    width_pt: float
    height_pt: float
    text: str


def printed_pages(pdf: bytes) -> list[PrintedPage]:
    objects = {int(number): body for number, body in _OBJECT.findall(pdf)}
    maps = {
        number: _unicode_map(_stream(objects[_reference(body, b"ToUnicode")]))
        for number, body in objects.items()
        if b"/ToUnicode" in body and b"/Type /Font" in body
    }
    pages = [b for b in objects.values() if re.search(rb"/Type /Page\b(?!s)", b)]
    return [_page(body, objects, maps) for body in pages]


def _page(
    body: bytes, objects: dict[int, bytes], maps: dict[int, dict[int, str]]
) -> PrintedPage:
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", body)
    assert box is not None
    fonts = {
        name: maps.get(int(number), {})
        for name, number in re.findall(rb"/(F\d+) (\d+) 0 R", body)
    }
    text, current = "", {}
    for name, shown in _SHOWN.findall(_stream(objects[_reference(body, b"Contents")])):
        if name:
            current = fonts[name]
        else:
            text += "".join(
                current.get(int(shown[k : k + 4], 16), "?")
                for k in range(0, len(shown), 4)
            )
    return PrintedPage(width_pt=float(box[1]), height_pt=float(box[2]), text=text)


def _reference(body: bytes, key: bytes) -> int:
    found = re.search(rb"/" + key + rb" (\d+) 0 R", body)
    assert found is not None
    return int(found[1])


def _stream(body: bytes) -> bytes:
    return zlib.decompress(body.partition(b"stream\n")[2])


def _unicode_map(table: bytes) -> dict[int, str]:
    """Glyph numbers to text, from the `bfchar` and `bfrange` lines."""
    result = {}
    for block in re.findall(rb"beginbf\w+\n(.*?)endbf", table, re.DOTALL):
        for first, second, third in _PAIR.findall(block):
            last, text = (second, third) if third else (first, second)
            start = int(first, 16)
            base = bytes.fromhex(text.decode()).decode("utf-16-be")
            for k in range(int(last, 16) - start + 1):
                result[start + k] = base[:-1] + chr(ord(base[-1]) + k)
    return result
