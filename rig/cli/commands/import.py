"""`gapsweep import`: sensors, targets, plans and hand readings from a spreadsheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.asked_about import sure_option
from rig.cli.options import catalogue_option, example, json_option, records_option

_FILE = click.Path(path_type=Path, dir_okay=False)


@click.group(epilog=example("gapsweep import catalogue --sensors sensors.csv"))
def command() -> None:
    """Import a spreadsheet: .xlsx, or saved as CSV.

    The first sheet of a workbook is used. CSV is UTF-8 with commas or semicolons
    between cells. If any cells are wrong, all of them are listed by row and column and
    nothing is imported.
    """


@command.command(epilog=example("gapsweep import catalogue --sensors sensors.csv"))
@click.option(
    "--sensors",
    type=_FILE,
    metavar="FILE",
    help="name,principle,size_mm,rated_distance_mm[,output,switching_frequency_hz,"
    "s_r_lower,s_r_upper,H_upper,...]: limits as shares.",
)
@click.option(
    "--targets",
    type=_FILE,
    metavar="FILE",
    help="name,material,thickness_mm[,side_mm,earthed,wall_material,wall_mm].",
)
@click.option(
    "--out",
    type=_FILE,
    default=Path("catalogue.toml"),
    show_default=True,
    help="Output file; never overwritten.",
)
def catalogue(sensors: Path | None, targets: Path | None, out: Path) -> None:
    """Make a catalogue file for the option --catalogue."""
    # Deferred: help must answer at once
    from rig.cli.imported_tables import import_catalogue

    import_catalogue(sensors, targets, out)


@command.command(epilog=example("gapsweep import plan incoming.csv"))
@click.argument("path", metavar="FILE", type=_FILE)
@click.option("--title", help="Title of the plan.  [default: the file's name]")
@click.option(
    "--out",
    type=_FILE,
    default=Path("plan.toml"),
    show_default=True,
    help="Output file; never overwritten.",
)
@catalogue_option
def plan(path: Path, title: str | None, out: Path, catalogue_path: Path | None) -> None:
    """Make a plan file for `gapsweep run`; every row is a run.

    FILE has the columns sensor,target and may have part, sweeps, speeds_mm_s (such as
    "1 4"), timetable_h and timetable_readings.
    """
    from rig.cli.imported_tables import import_plan

    import_plan(path, title=title, catalogue_path=catalogue_path, out=out)


@command.command(epilog=example("gapsweep import hand class.csv"))
@click.argument("path", metavar="FILE", type=_FILE)
@sure_option
@catalogue_option
@records_option
@json_option
def hand(path: Path, **how: Any) -> None:
    """Enter readings by hand: all of a file, or none.

    The file may cover several sensors and targets. FILE has the columns
    person,sensor,target,value_mm and may have part, figure (operate or release) and
    step_mm, the smallest difference that the ruler or gauge shows.
    """
    from rig.cli.imported_tables import import_hand

    import_hand(path, **how)
