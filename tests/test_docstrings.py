"""Docstrings: one style a room, and lines that can be read by themselves.

An editor shows the line of an attribute or an argument alone, without its class: "Of
the rig." says nothing there.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = ("rig", "sim", "firmware_protocol")
NUMPYDOC = "rig/analysis/"

TITLES = "Args|Arguments|Parameters|Attributes|Returns|Yields|Raises|Notes?|Examples?"
GOOGLE_TITLE = re.compile(rf"^({TITLES}):$")
DASHED_TITLE = re.compile(rf"^({TITLES}):?$")
GOOGLE_ENTRY = re.compile(r"^    (\*{0,2}\w+): (.+)$")
NUMPYDOC_ENTRY = re.compile(r"^(\w+(?:, \w+)*)(?: : .+)?$")
ENTRIES = ("Args", "Arguments", "Parameters", "Attributes")

# Begins as the rest of a phrase that stands elsewhere
FRAGMENT = re.compile(
    r"(Of|From|For|By|In|To|On|With|As|See|Its|Their|Whose|Which|That|The same"
    r"|Likewise)\b"
)

Documented = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def docstrings(source: str) -> Iterator[tuple[str, str]]:
    """Yield what has a docstring, and its text."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, Documented):
            text = ast.get_docstring(node)
            if text is not None:
                yield getattr(node, "name", "module"), text


def is_dashes(line: str) -> bool:
    return bool(line) and not line.strip("-")


def wrong_style(text: str, *, numpydoc: bool) -> Iterator[str]:
    """Yield the titles of sections that are in the other style, or in neither."""
    lines = [*text.splitlines(), ""]
    for line, below in pairwise(lines):
        dashed = bool(DASHED_TITLE.match(line)) and is_dashes(below)
        if not dashed and not GOOGLE_TITLE.match(line):
            continue
        right = len(below) == len(line) if numpydoc else not dashed
        if line.endswith(":") is numpydoc or not right:
            yield line


def entries(text: str) -> Iterator[tuple[str, str]]:
    """Yield each attribute and argument with the line that describes it."""
    title = ""
    lines = [*text.splitlines(), ""]
    for line, below in pairwise(lines):
        if DASHED_TITLE.match(line):
            title = line.rstrip(":")
        elif title not in ENTRIES or is_dashes(line):
            continue
        elif google := GOOGLE_ENTRY.match(line):
            yield google[1], google[2]
        elif line and not line.startswith(" "):
            numpydoc = NUMPYDOC_ENTRY.match(line)
            if numpydoc and below.startswith("    "):
                yield numpydoc[1], below.strip()
            else:
                title = ""


def fragments(text: str) -> Iterator[str]:
    """Yield the entries that cannot be read by themselves."""
    for name, words in entries(text):
        if FRAGMENT.match(words):
            yield f"{name}: {words}"


def modules() -> list[Path]:
    return [path for room in ROOMS for path in sorted((ROOT / room).rglob("*.py"))]


@pytest.mark.long
@pytest.mark.parametrize("room", ROOMS)
def test_every_attribute_and_argument_can_be_read_by_itself(room: str) -> None:
    offenders = [
        f"{path.relative_to(ROOT)}, {name}, {fragment}"
        for path in sorted((ROOT / room).rglob("*.py"))
        for name, text in docstrings(path.read_text("utf-8"))
        for fragment in fragments(text)
    ]

    assert offenders == []


@pytest.mark.long
def test_sections_are_numpydoc_in_the_analysis_and_google_style_elsewhere() -> None:
    offenders = [
        f"{where}, {name}, {title}"
        for path in modules()
        for where in [path.relative_to(ROOT).as_posix()]
        for name, text in docstrings(path.read_text("utf-8"))
        for title in wrong_style(text, numpydoc=where.startswith(NUMPYDOC))
    ]

    assert offenders == []


@pytest.mark.long
def test_the_entries_of_both_styles_are_found() -> None:
    counts = dict.fromkeys((True, False), 0)
    for path in modules():
        where = path.relative_to(ROOT).as_posix()
        for _, text in docstrings(path.read_text("utf-8")):
            counts[where.startswith(NUMPYDOC)] += sum(1 for _ in entries(text))

    assert min(counts.values()) > 100


GOOGLE = '''
def hold(rig: str, touches: int) -> None:
    """Hold something.

    Args:
        rig: Of the rig.
        touches: Number of touches,
            For continuation lines nothing is asked.

    Returns:
        In mm.
    """
'''

DASHED = '''
class Held:
    """Something held.

    Attributes
    ----------
    rig : str
        Serial number of the rig.
    first, second : float
        Likewise.
    """
'''

HYBRID = '''
def hold() -> float:
    """Hold something.

    Returns:
    -------
    float
        Distance, mm.
    """
'''


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        (GOOGLE, ["rig: Of the rig."]),
        (DASHED, ["first, second: Likewise."]),
        (HYBRID, []),
    ],
)
def test_a_line_that_says_nothing_by_itself_is_noticed(
    source: str, expected: list[str]
) -> None:
    found = [line for _, text in docstrings(source) for line in fragments(text)]

    assert found == expected


@pytest.mark.parametrize(
    ("source", "in_numpydoc", "elsewhere"),
    [
        (GOOGLE, ["Args:", "Returns:"], []),
        (DASHED, [], ["Attributes"]),
        (HYBRID, ["Returns:"], ["Returns:"]),
    ],
)
def test_a_section_in_the_other_style_is_noticed(
    source: str, in_numpydoc: list[str], elsewhere: list[str]
) -> None:
    texts = [text for _, text in docstrings(source)]

    assert [t for x in texts for t in wrong_style(x, numpydoc=True)] == in_numpydoc
    assert [t for x in texts for t in wrong_style(x, numpydoc=False)] == elsewhere
