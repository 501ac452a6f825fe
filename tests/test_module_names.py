"""One name, one thing: no module of the host has the name of another."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[1]
# Every package may have these; commands have the names of what they call
_ANYWHERE = {"__init__", "__main__"}
_COMMANDS = ("cli", "commands")


def twice(package: Path) -> list[str]:
    """Return the names that two modules below a package share."""
    names = Counter(
        path.stem
        for path in package.rglob("*.py")
        if path.stem not in _ANYWHERE
        and path.relative_to(package).parts[:2] != _COMMANDS
    )
    return sorted(name for name, count in names.items() if count > 1)


def test_no_module_of_the_host_has_the_name_of_another() -> None:
    assert twice(ROOT / "rig") == []


def test_a_name_that_is_there_twice_is_found(tmp_path: Path) -> None:
    for place in ("one/lot.py", "two/lot.py", "two/part.py", "cli/commands/part.py"):
        path = tmp_path / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
        (path.parent / "__init__.py").touch()

    assert twice(tmp_path) == ["lot"]
