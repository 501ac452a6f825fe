"""How a scene looks in every size and theme, as the text of one file.

A section for each size holds the lines of the screen between bars, then for each line
how many cells have which style. A legend for each theme at the end says what a style is
there: themes differ in nothing else.
"""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping
from itertools import count, groupby, product

from tests.tui.screen_text import Picture

Size = tuple[int, int]
Theme = str
Look = Mapping[Theme, Picture]


def look_text(looks: Mapping[Size, Look]) -> str:
    """Return the text of a file.

    Args:
        looks: In the order of the file. Every size is there in the themes of the first,
            and the lines of a size are the same in all of them.
    """
    names: dict[tuple[str, ...], str] = {}
    spare = _names()
    themes = list(next(iter(looks.values())))
    sections = []
    for (width, height), look in looks.items():
        pictures = [look[theme] for theme in themes]
        maps = [_runs(row, names, spare) for row in _rows(pictures)]
        lines = [f"|{line}|" for line in pictures[0].lines]
        sections.append([f"== {width}x{height} ==", *lines, "", *_folded(maps)])
    for at, theme in enumerate(themes):
        legend = [f"{name} {styles[at]}" for styles, name in names.items()]
        sections.append([f"== {theme} ==", *legend])
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


def _rows(pictures: list[Picture]) -> Iterator[list[tuple[str, ...]]]:
    """Yield for each line the styles of each cell, one for each theme."""
    for of_themes in zip(*(picture.styles for picture in pictures), strict=True):
        yield list(zip(*of_themes, strict=True))


def _runs(
    cells: list[tuple[str, ...]],
    names: dict[tuple[str, ...], str],
    spare: Iterator[str],
) -> str:
    found = []
    for styles, group in groupby(cells):
        if styles not in names:
            names[styles] = next(spare)
        found.append(f"{len(list(group))}{names[styles]}")
    return " ".join(found)


def _names() -> Iterator[str]:
    """Yield a, b, ... Z, aa, ab, ..."""
    for length in count(1):
        for letters in product(string.ascii_letters, repeat=length):
            yield "".join(letters)


def _folded(lines: list[str]) -> list[str]:
    """Return lines that are the same, one below another, as one with their number."""
    return [f"{len(list(group))}x {line}" for line, group in groupby(lines)]
