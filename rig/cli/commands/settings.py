"""`gapsweep settings`: what a rig is built like, kept in its controller."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import open_rig
from rig.cli.options import example, json_option, rig_option
from rig.cli.output import say, say_document
from rig.cli.text.table import SIMULATED, table
from rig.errors import InputError

if TYPE_CHECKING:
    from firmware_protocol.messages import Trait


@click.command(
    epilog=example(
        'gapsweep settings --rig "sim://?pace=fast" --name bench-7 '
        "--set steps_per_m=800000 --set travel_high=40000"
    )
)
@rig_option
@click.option("--name", metavar="NAME", help="Give the rig this name.")
@click.option(
    "--set",
    "given",
    multiple=True,
    metavar="SETTING=NUMBER",
    help="Change a setting; can be repeated.",
)
@json_option
def command(
    rig_name: str, name: str | None, given: tuple[str, ...], as_json: bool
) -> None:
    """Show or change scale, travel, speeds, polarities and name of a rig.

    The controller checks and keeps them. Nothing moves. A rig that is homed or held
    refuses: switch its supply off and on first. After changing scale or travel, remove
    the target, home, and check the scale before you measure.
    """
    # Deferred: help must answer at once
    from rig.procedures.rig_settings import change_settings, name_of, read_settings

    wanted = {**_numbers_of(given), **({} if name is None else name_of(name))}
    with open_rig(rig_name) as rig:
        if wanted:
            change_settings(rig.mover.link, wanted)
        found = read_settings(rig.mover.link)
        simulated = rig.mover.traits.simulated
    if as_json:
        say_document("settings", found)
        return
    if simulated:
        say(SIMULATED)
    rows = [[key, str(value)] for key, value in found.settings.items()]
    say(table(["setting", "value"], [["name", found.name], *rows]))


def _numbers_of(given: tuple[str, ...]) -> dict[Trait, int]:
    from rig.procedures.rig_settings import SETTINGS

    known = {trait.name.lower(): trait for trait in SETTINGS}
    wanted = {}
    for words in given:
        key, _, text = words.partition("=")
        try:
            wanted[known[key.strip().lower()]] = int(text)
        except (KeyError, ValueError) as exc:
            raise InputError(
                f"--set {words!r}: a setting and a whole number are wanted",
                hint=f"settings are {', '.join(known)}",
            ) from exc
    return wanted
