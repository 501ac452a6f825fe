"""How a scene looks in every size and theme, as the text of one file.

A section for each size holds the lines of the screen between bars, then for each line
how many cells have which style. A legend for each theme at the end says what a style is
there: themes differ in nothing else.
"""

from __future__ import annotations

import re
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


def pictures_of(text: str) -> dict[Size, dict[Theme, Picture]]:
    """Return what `look_text` put into a text."""
    heads = re.findall(r"^== (\S+) ==$", text, re.MULTILINE)
    sections = re.split(r"^== \S+ ==\n", text, flags=re.MULTILINE)[1:]
    found = dict(zip(heads, sections, strict=True))
    legends = {
        head: dict(line.split(" ", 1) for line in section.split("\n") if line)
        for head, section in found.items()
        if not head[0].isdigit()
    }
    looks: dict[Size, dict[Theme, Picture]] = {}
    for head, section in found.items():
        if not head[0].isdigit():
            continue
        width, height = head.split("x")
        screen, maps = section.rstrip("\n").split("\n\n")
        names = list(_unfolded(maps.split("\n")))
        looks[int(width), int(height)] = {
            theme: Picture(
                tuple(line[1:-1] for line in screen.split("\n")),
                tuple(tuple(legend[name] for name in row) for row in names),
            )
            for theme, legend in legends.items()
        }
    return looks


def _unfolded(lines: list[str]) -> Iterator[list[str]]:
    """Yield for each line of a screen the names of the styles of its cells."""
    for line in lines:
        times, _, runs = line.partition("x ")
        cells = [
            name
            for count, name in re.findall(r"(\d+)(\D+?)(?: |$)", runs)
            for _ in range(int(count))
        ]
        yield from [cells] * int(times)


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
