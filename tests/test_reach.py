"""No door, no room: the product reaches every module and public name that it has."""

from __future__ import annotations

from pathlib import Path
from shutil import copytree, ignore_patterns
from textwrap import dedent

import pytest

from rig import api
from rig.cli.main import COMMANDS
from rig.inquiry.documents import DOCUMENTS
from rig.tui.frame.screen_list import SCREENS
from tests.reach import Reach, Target, read_modules

ROOT = Path(__file__).parents[1]
PACKAGES = ("rig", "sim", "firmware_protocol")

# Programs that are started by name; what DEVELOPERS.md and the READMEs tell to run
PROGRAMS = (
    "rig.tui.__main__",
    "firmware_protocol.conformance.__main__",
    "firmware_protocol.conformance.by_hand",
    "firmware_protocol.conformance.measure",
    "firmware_protocol.firmware.tests.coverage",
    "firmware_protocol.generate",
    "sim.host_trial",
    "sim.predictions",
)

_ALL_BUT_SOURCE = ignore_patterns("__pycache__", "build", "*.c", "*.h", "*.html")


def doors() -> list[Target]:
    """Everything that a user can start."""
    commands = [f"rig.cli.commands.{name.replace('-', '_')}" for name in COMMANDS]
    return [
        ("rig.cli.main", "main"),
        *((module, "command") for module in commands),
        *(("rig.api", name) for name in api.__all__),
        *((f"rig.tui.{each.module}", each.screen) for each in SCREENS),
        *(_target(place) for place in DOCUMENTS.values()),
        *((program, "") for program in PROGRAMS),
    ]


def _target(place: str) -> Target:
    module, _, name = place.partition(":")
    return module, name


@pytest.mark.long
def test_the_product_reaches_everything_that_it_has() -> None:
    reach = Reach(read_modules(ROOT, PACKAGES), doors())

    assert reach.unreached() == []


def test_every_program_can_be_started() -> None:
    for program in PROGRAMS:
        source = ROOT.joinpath(*program.split(".")).with_suffix(".py")

        assert '__name__ == "__main__"' in source.read_text("utf-8"), program


HOUSE = {
    "__init__.py": "",
    "door.py": """
        from house import rooms
        from house.hall import used as by_another_name
        from house.registry import listed

        def main():
            from house.late import inside
            size = 3
            return by_another_name(), rooms.kitchen.cook(), inside, "house.text:Named"
    """,
    "hall.py": """
        LIMIT = 3
        LEFT = 4

        def used(at_most=LIMIT):
            return _step()

        def _step():
            return Chair()

        def unused():
            return used()

        def size():
            return 0

        class Chair:
            def sit(self):
                return helped()

        def helped():
            return 0
    """,
    "rooms/__init__.py": "from house.rooms import kitchen",
    "rooms/kitchen.py": "def cook(): ...\ndef burn(): ...",
    "rooms/cellar.py": "def store(): ...",
    "late.py": "inside = 1\noutside = 2",
    "text.py": "class Named: ...\nclass Unnamed: ...",
    "registry.py": """
        every = []

        def listed(one):
            every.append(one)
            return one

        @listed
        def on_the_list(): ...

        def off_the_list(): ...
    """,
}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A package with one door, and rooms that no door leads to."""
    for name, text in HOUSE.items():
        path = tmp_path / "house" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(dedent(text), "utf-8")
    return tmp_path


def test_what_no_door_leads_to_is_listed(house: Path) -> None:
    reach = Reach(read_modules(house, ["house"]), [("house.door", "main")])

    assert reach.unreached() == [
        "house.hall:LEFT",
        "house.hall:size",
        "house.hall:unused",
        "house.late:outside",
        "house.registry:off_the_list",
        "house.rooms.cellar",
        "house.rooms.kitchen:burn",
        "house.text:Unnamed",
    ]


@pytest.mark.long
def test_a_function_that_is_planted_in_the_product_is_found(tmp_path: Path) -> None:
    for package in PACKAGES:
        copytree(ROOT / package, tmp_path / package, ignore=_ALL_BUT_SOURCE)
    planted = tmp_path / "rig" / "analysis" / "numbers" / "gaps.py"
    planted.write_text(f"{planted.read_text('utf-8')}\n\ndef planted(): ...\n", "utf-8")
    (tmp_path / "rig" / "sheets" / "planted_sheet.py").write_text("", "utf-8")
    before = Reach(read_modules(ROOT, PACKAGES), doors()).unreached()

    found = Reach(read_modules(tmp_path, PACKAGES), doors()).unreached()

    assert set(found) - set(before) == {
        "rig.analysis.numbers.gaps:planted",
        "rig.sheets.planted_sheet",
    }


def test_a_door_that_is_not_there_is_refused(house: Path) -> None:
    with pytest.raises(ValueError, match=r"house\.door:back"):
        Reach(read_modules(house, ["house"]), [("house.door", "back")])
