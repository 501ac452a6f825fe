"""No door, no room: the product reaches every module and public name that it has."""

from __future__ import annotations

from pathlib import Path

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
    "firmware_protocol.conformance.measure",
    "firmware_protocol.firmware.tests.coverage",
    "firmware_protocol.generate",
    "sim.predictions",
)

# What something outside the product calls by name, and what that is
CALLED_BY_NAME: dict[str, str] = {}


def doors() -> list[Target]:
    """Everything that a user can start."""
    commands = [f"rig.cli.commands.{name.replace('-', '_')}" for name in COMMANDS]
    return [
        ("rig.cli.main", "main"),
        *((module, "command") for module in commands),
        *((f"rig.tui.{each.module}", each.screen) for each in SCREENS),
        *(_target(place) for place in DOCUMENTS.values()),
        *((program, "") for program in PROGRAMS),
    ]


def _target(place: str) -> Target:
    module, _, name = place.partition(":")
    return module, name


def test_the_product_reaches_everything_that_it_has() -> None:
    reach = Reach(read_modules(ROOT, PACKAGES), doors())

    assert [each for each in reach.unreached() if each not in CALLED_BY_NAME] == []
