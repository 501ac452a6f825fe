"""What README.md says of figures and commands is true of the product."""

from __future__ import annotations

import re
from pathlib import Path

from rig.cli.main import COMMANDS
from rig.model.figure_kinds import FIGURE_KINDS

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")


def test_the_table_of_figures_is_that_of_the_product() -> None:
    expected = [
        f"| {kind.name} | {kind.symbol} | {kind.unit} | {kind.meaning} |"
        for kind in FIGURE_KINDS
    ]
    _, _, after = README.partition(
        "| figure | symbol | unit | meaning |\n|---|---|---|---|\n"
    )

    rows = after.partition("\n\n")[0].splitlines()

    assert rows == expected


def test_every_command_that_the_readme_gives_exists() -> None:
    given = set(re.findall(r"(?m)^(?:\.venv/bin/)?gapsweep ([a-z-]+)", README))

    assert len(given) > 8
    assert given <= set(COMMANDS)
