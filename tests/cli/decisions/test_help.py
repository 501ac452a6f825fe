"""Help of the commands of decisions: an example each, and nothing heavy behind it."""

from __future__ import annotations

import io
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from rig.cli.main import gapsweep as program
from tests.products import PRODUCTS

EXAMPLE = "20261125-093412-512-7f3a"
ROOT = Path(__file__).parents[3]
NAMES = (
    "batch",
    "study",
    "lot",
    "product",
    "calibrate",
    "bench",
    "hand",
    "import",
    "show",
    "operator",
    "trail",
    "verify",
)


READINGS = {
    "ratings.csv": (
        "part,appraiser,rating",
        *("1,Ann,good", "1,Bob,good", "2,Ann,bad", "2,Bob,good"),
    ),
    "blocks.csv": (
        "part,reference,reading,unit",
        *("1,2,2.01,mm", "2,4,4.03,mm", "3,6,6.02,mm"),
    ),
    "standard.csv": ("reading,unit", "8.01,mm", "8.03,mm", "8.02,mm"),
    "one.csv": ("reading,unit", "8.01,mm", "8.03,mm", "8.02,mm"),
}


def commands() -> Iterator[tuple[str, click.Command]]:
    context = click.Context(program)
    for name in NAMES:
        command = program.get_command(context, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            for inner, one in command.commands.items():
                yield f"{name} {inner}", one


EVERY = dict(commands())


def words_of(name: str) -> list[str]:
    """Return the words of the example of a command."""
    epilog = EVERY[name].epilog or ""
    program, *words = shlex.split(epilog.split("Example:")[1])
    assert program == "gapsweep"
    return words


@pytest.fixture
def prepared(gapsweep, measured, tmp_path: Path) -> dict[str, str]:
    """Two parts, a study, a lot and files on record; by command, the id to put in."""
    run_ids = [measured(part, target="pvc")["run_id"] for part in ("1", "2")]
    for part in ("1", "2"):
        measured(part)
    study = gapsweep(*words_of("study layout"), "--json").document["study_id"]
    lot = gapsweep(
        "lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5, "--json"
    ).document["lot_id"]
    sheet = tmp_path / "study.csv"
    lines = sheet.read_text().splitlines()
    filled = [line.replace(",,", f",{8 + k / 100},") for k, line in enumerate(lines)]
    sheet.write_text("\n".join(filled) + "\n")
    axis = [
        f"{place},{way},{run / 1000}"
        for place in (0, 30)
        for way in ("up", "down")
        for run in (1, 2)
    ]
    (tmp_path / "axis.csv").write_text(
        "\n".join(["target_mm,direction,deviation_mm", *axis]) + "\n"
    )
    (tmp_path / "bench.toml").write_text('[probe]\nsource = "maker"\ndelay_ms = 3\n')
    (tmp_path / "class.csv").write_text("person,value_mm\nAnn,3.8\nAnn,3.9\n")
    gapsweep(
        "hand",
        "add",
        "class.csv",
        *("--sensor", "level-18", "--target", "pvc"),
        *("--part", "1"),
    )
    for file, rows in READINGS.items():
        (tmp_path / file).write_text("\n".join(rows) + "\n", "utf-8")
    (tmp_path / "products.toml").write_text(PRODUCTS, "utf-8")
    (tmp_path / "sensors.csv").write_text(
        "name,principle,size_mm,rated_distance_mm\nbin-18,capacitive,18,8\n"
    )
    (tmp_path / "incoming.csv").write_text("sensor,target\nlevel-18,pvc\n")
    return {"study": study, "lot": lot, "hand": run_ids[0], "show": run_ids[0]}


@pytest.mark.long
@pytest.mark.parametrize("name", EVERY)
def test_the_example_of_a_command_runs(
    gapsweep, prepared, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = words_of(name)
    assert " ".join(words).startswith(name.split()[0])
    own = prepared.get(words[0], "")
    words = [own if word == EXAMPLE else word for word in words]
    if words[:2] == ["import", "hand"]:
        (tmp_path / "class.csv").write_text(
            "person,sensor,target,value_mm\nAnn,level-18,pvc,3.8\n"
        )
    if words[0] == "product" and words[1] != "add":
        gapsweep("product", "add", "products.toml", "--by", "A. Novak")
    if words[:2] in (["lot", "decide"], ["lot", "sign"]):
        for part in ("1", "2"):
            gapsweep("lot", "part", own, part, "--conforms", "--reason", "seen")
    if words[:2] == ["lot", "sign"]:
        gapsweep("lot", "decide", own)
    if words[0] == "operator" or words[:2] == ["lot", "sign"]:
        gapsweep("operator", "add", "R. Vance")
        if words[1] != "add":
            gapsweep("operator", "add", "K. Ames", "--by", "R. Vance")
        monkeypatch.setattr("sys.stdin", io.StringIO("914207\n914207\n"))
    if words[:2] == ["lot", "sign"]:
        gapsweep("operator", "pin", "K. Ames")
    if words[:2] == ["study", "layout"]:
        Path("study.csv").unlink()  # of other examples; nothing is overwritten

    outcome = gapsweep(*words)

    assert outcome.status == 0, outcome.err
    assert outcome.out


@pytest.mark.parametrize("name", EVERY)
def test_every_option_is_told_of(gapsweep, name: str) -> None:
    text = gapsweep(*name.split(), "--help").out
    options = [one for one in EVERY[name].params if isinstance(one, click.Option)]
    names = [option.opts[-1] for option in options]

    assert [name for name in names if name not in text] == []
    assert all(option.help for option in options)


@pytest.mark.parametrize("name", NAMES)
def test_no_line_of_a_table_of_commands_is_cut_short(gapsweep, name: str) -> None:
    assert "..." not in gapsweep(name, "--help").out.partition("Commands:")[2]


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys\n"
        "from rig.cli.main import run\n"
        "heavy = ('numpy', 'scipy', 'pandas', 'sqlalchemy', 'matplotlib', 'pydantic')\n"
        f"for name in {NAMES!r}:\n"
        "    run([name, '--help'])\n"
        "print([name for name in heavy if name in sys.modules], file=sys.stderr)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT)},
    )

    assert done.stderr.strip() == "[]"
