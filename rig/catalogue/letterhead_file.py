"""The head of a laboratory's documents as a small TOML file, checked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field

from rig.catalogue.input_file import read_text
from rig.catalogue.logo_file import Logo, load_logo
from rig.catalogue.toml_input import Strict, parse, spot_of
from rig.errors import InputError

MOST_LETTERHEAD_BYTES = 20_000
LONGEST_NAME = 80
LONGEST_LINE = 60
MOST_LINES = 5

_Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
_Line = Annotated[str, Field(min_length=1, max_length=LONGEST_LINE)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """Who makes a document.

    Attributes:
        name: Name of the laboratory or the firm.
        address: Lines of its address and how to reach it.
        location: Where it was measured, if not at that address; may be empty.
        note: Line at the foot, such as a registration; may be empty.
        logo: Picture at the head; None without one.
    """

    name: str
    address: tuple[str, ...]
    location: str
    note: str
    logo: Logo | None


class _LetterheadFile(Strict):
    name: _Name
    address: Annotated[tuple[_Line, ...], Field(min_length=1, max_length=MOST_LINES)]
    location: Annotated[str, Field(max_length=LONGEST_NAME)] = ""
    note: Annotated[str, Field(max_length=2 * LONGEST_NAME)] = ""
    logo: Annotated[str, Field(max_length=200)] = ""


def load_letterhead(path: Path) -> Letterhead:
    """Read a letterhead.

    It holds `name` and `address`, a list of lines; besides, if wanted, `location`,
    `note` and `logo`, a PNG or SVG file beside it.

    Args:
        path: TOML file.

    Raises:
        InputError: It is not there, no TOML, something in it is not right, or its logo
            is not fit to be shown.
    """
    text = read_text(path, most_bytes=MOST_LETTERHEAD_BYTES)
    found = parse(text, str(path), _LetterheadFile)
    logo = None
    if found.logo:
        try:
            logo = load_logo(path.parent / found.logo)
        except InputError as exc:
            spot = spot_of(text, str(path), ("logo",))
            raise InputError(f"{spot}: {exc}", hint=exc.hint) from exc
    return Letterhead(
        name=found.name,
        address=found.address,
        location=found.location,
        note=found.note,
        logo=logo,
    )
