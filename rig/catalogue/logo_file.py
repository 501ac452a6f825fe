"""A logo as a PNG or SVG file, let in only if it is a picture and nothing else.

An SVG document can run programs and fetch what lies elsewhere. So elements are held
against a list of shapes, texts and paints, and every reference must be to the document
itself. What is not on the list is refused by its name, not taken out.
"""

from __future__ import annotations

import re
import struct
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from xml.parsers import expat

from rig.catalogue.input_file import read_bytes
from rig.errors import InputError

MOST_LOGO_BYTES: Final = 200_000
MOST_PIXELS: Final = 4000  # a side
MOST_ELEMENTS: Final = 5000
_DEEPEST = 50
_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"
_XML = "http://www.w3.org/XML/1998/namespace"
_ELEMENTS = frozenset(
    {
        *("svg", "g", "defs", "symbol", "use", "title", "desc", "style"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
        *("text", "tspan", "linearGradient", "radialGradient", "stop"),
        *("clipPath", "mask", "pattern", "marker"),
    }
)
_OUTSIDE = re.compile(
    r"""@import|javascript:|data:|\\|image(?:-set)?\(|src\(|url\(\s*+['"]?+(?!#)""",
    re.IGNORECASE,
)
_SAVE_PLAIN = "save it as plain SVG with shapes and texts only, or as PNG"


@dataclass(frozen=True, slots=True, kw_only=True)
class Logo:
    """A picture that can stand in a page.

    Attributes:
        media_type: Kind of the picture, image/png or image/svg+xml.
        data: Content of its file.
    """

    media_type: str
    data: bytes


def load_logo(path: Path) -> Logo:
    """Read a logo.

    Args:
        path: PNG or SVG file.

    Raises:
        InputError: It is not there, too large, neither PNG nor SVG, damaged, or an SVG
            that holds a program or refers to something outside itself.
    """
    data = read_bytes(path, most_bytes=MOST_LOGO_BYTES)
    if data.startswith(_PNG_SIGNATURE):
        _check_png(path, data)
        return Logo(media_type="image/png", data=data)
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        _check_svg(path, data)
        return Logo(media_type="image/svg+xml", data=data)
    raise InputError(
        f"{path} is neither a PNG nor an SVG picture", hint="save the logo as PNG"
    )


def _check_png(path: Path, data: bytes) -> None:
    """Walk through the chunks (PNG, W3C Recommendation, clause 5; from memory)."""
    at = len(_PNG_SIGNATURE)
    kinds: list[bytes] = []
    while at + 12 <= len(data) and (not kinds or kinds[-1] != b"IEND"):
        (length,) = struct.unpack_from(">I", data, at)
        kind, end = data[at + 4 : at + 8], at + 8 + length
        if end + 4 > len(data):
            break
        if struct.unpack_from(">I", data, end)[0] != zlib.crc32(data[at + 4 : end]):
            raise InputError(f"{path} is a damaged PNG: the check of a chunk fails")
        if not kinds:
            _check_size(path, kind, data[at + 8 : end])
        kinds.append(kind)
        at = end + 4
    if not kinds or kinds[-1] != b"IEND" or b"IDAT" not in kinds:
        raise InputError(f"{path} is a PNG that is cut short")
    if at != len(data):
        raise InputError(f"{path} holds more after the picture", hint="save it anew")


def _check_size(path: Path, kind: bytes, head: bytes) -> None:
    if kind != b"IHDR" or len(head) != 13:
        raise InputError(f"{path} is a PNG without a head")
    width, height = struct.unpack_from(">II", head)
    if not (0 < width <= MOST_PIXELS and 0 < height <= MOST_PIXELS):
        raise InputError(
            f"{path} has {width} x {height} pixels",
            hint=f"a side of 1 to {MOST_PIXELS} is taken; save it smaller",
        )


class _SvgCheck:
    """Looks at what the parser meets; raises at the first that is not let in."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._open: list[str] = []
        self._count = 0
        self._style = ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Look at an element."""
        space, _, local = name.rpartition(" ")
        if space != _SVG or local not in _ELEMENTS:
            raise self._refused(f"the element <{local}>")
        if not self._open and local != "svg":
            raise self._refused(f"<{local}> as its outermost element")
        self._open.append(local)
        self._count += 1
        if self._count > MOST_ELEMENTS or len(self._open) > _DEEPEST:
            raise self._refused(
                f"more than {MOST_ELEMENTS} elements or {_DEEPEST} levels"
            )
        for key, value in attributes.items():
            self._attribute(key, value)

    def _attribute(self, key: str, value: str) -> None:
        space, _, local = key.rpartition(" ")
        if local.lower().startswith("on"):
            raise self._refused(f"a program in the attribute {local!r}")
        if space not in ("", _XLINK, _XML) or (space == _XML and local == "base"):
            raise self._refused(f"the attribute {local!r} of another vocabulary")
        if local == "href" and not value.startswith("#"):
            raise self._refused(f"a reference to {value[:40]!r}")
        self._text(value)

    def data(self, text: str) -> None:
        """Gather the text of <style>: it may come in pieces, parted by a comment."""
        if "style" in self._open:
            self._style += text

    def _text(self, text: str) -> None:
        found = _OUTSIDE.search(text)
        if found is not None:
            raise self._refused(f"a reference or an escape ({found[0]})")

    def end(self, _name: str) -> None:
        """Leave an element; of a style sheet all is there now."""
        if self._open.pop() == "style":
            self._text(self._style)
            self._style = ""

    def doctype(self, *_: object) -> None:
        """Refuse a document type: entities can grow without bound or fetch files."""
        raise self._refused("a document type (<!DOCTYPE>)")

    def instruction(self, target: str, _data: str) -> None:
        """Refuse an instruction, which can name a style sheet elsewhere."""
        raise self._refused(f"the instruction <?{target}>")

    def _refused(self, what: str) -> InputError:
        return InputError(f"{self._path} holds {what}", hint=_SAVE_PLAIN)


def _check_svg(path: Path, data: bytes) -> None:
    check = _SvgCheck(path)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = check.start
    parser.EndElementHandler = check.end
    parser.CharacterDataHandler = check.data
    parser.StartDoctypeDeclHandler = check.doctype
    parser.ProcessingInstructionHandler = check.instruction
    try:
        parser.Parse(data, True)
    except expat.ExpatError as exc:
        raise InputError(f"{path} is no valid SVG: {exc}", hint=_SAVE_PLAIN) from exc
