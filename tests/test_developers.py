"""What DEVELOPERS.md says of the tree is true of the tree."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
# Words in capitals stand for a name of the reader's own
PATH = re.compile(r"`([a-z_.]+(?:/[\w.]+)*(?:/|\.(?:py|toml|md|c|h)))`")
# Where a path without its package may begin, as a sentence that names it implies
BEGINNINGS = (
    ".",
    "rig",
    "rig/analysis",
    "rig/analysis/edges",
    "rig/procedures",
    "rig/link",
    "rig/inquiry",
    "firmware_protocol",
    "firmware_protocol/firmware",
)


def named_paths(text: str) -> list[str]:
    return [
        path
        for path in PATH.findall(text)
        if not any(part.isupper() for part in re.split(r"[/.]", path))
    ]


def exists(path: str) -> bool:
    return any((ROOT / beginning / path).exists() for beginning in BEGINNINGS)


def test_every_path_that_the_guide_names_exists() -> None:
    named = named_paths(GUIDE)

    assert len(named) > 30
    assert [path for path in named if not exists(path)] == []


def test_every_change_has_one_place_to_begin_and_it_exists() -> None:
    _, _, after = GUIDE.partition("| change | begin in | then |\n|---|---|---|\n")
    table, _, _ = after.partition("\n\n")
    rows = [
        [cell.strip() for cell in row.strip("|").split("|")]
        for row in table.splitlines()
    ]

    begins = {change: named_paths(place) for change, place, _ in rows}

    assert len(begins) >= 10
    for change, places in begins.items():
        if "_job" in change or change == "an order to the rig":
            places = ["rig/tui/rig/bench_job.py"]
        assert places, change
        assert (ROOT / places[0]).exists(), change


def test_a_path_that_is_not_there_is_noticed() -> None:
    assert not exists("rig/nowhere.py")
