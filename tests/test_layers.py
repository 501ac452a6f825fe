"""The walls between the parts: who may import whom, and what stays unloaded."""

from __future__ import annotations

import ast
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# Each costs tens to hundreds of milliseconds, or belongs to one part only
HEAVY = (
    "matplotlib",
    "numpy",
    "pandas",
    "pydantic",
    "scipy",
    "serial",
    "sqlalchemy",
    "textual",
)

LOADED_BY = """
import importlib, sys
importlib.import_module(sys.argv[1])
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""

LOADED_BY_ALL_OF = """
import importlib, pkgutil, sys
package = importlib.import_module(sys.argv[1])
for found in pkgutil.walk_packages(package.__path__, f"{sys.argv[1]}."):
    if not found.name.endswith("__main__"):
        importlib.import_module(found.name)
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""

# Ends as soon as the first screen stands, without a terminal
LOADED_BY_THE_FIRST_SCREEN = """
import asyncio, sys
from rig.tui.app.app import GapsweepApp
async def show():
    async with GapsweepApp(records=sys.argv[1]).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert pilot.app.screen.query("#rigs")
        print(*sorted({name.partition(".")[0] for name in sys.modules}))
asyncio.run(show())
"""

LINT = """
import sys
from importlinter.cli import lint_imports
sys.exit(lint_imports(config_filename=sys.argv[1], no_cache=True, no_logo=True))
"""


def run(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def loaded(code: str, module: str) -> set[str]:
    done = run(code, module)
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def test_every_contract_on_imports_is_kept() -> None:
    done = run(LINT, "pyproject.toml")

    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_a_broken_contract_is_noticed(tmp_path: Path) -> None:
    # The codec does import the messages: a contract against it must fail
    config = tmp_path / "contracts.toml"
    config.write_text(
        "[tool.importlinter]\n"
        'root_packages = ["firmware_protocol"]\n'
        "[[tool.importlinter.contracts]]\n"
        'name = "Nobody could keep this"\n'
        'type = "forbidden"\n'
        'source_modules = ["firmware_protocol.codec"]\n'
        'forbidden_modules = ["firmware_protocol.messages"]\n',
        "utf-8",
    )

    done = run(LINT, str(config))

    assert done.returncode != 0
    assert "1 broken" in done.stdout


@pytest.mark.parametrize("module", ["rig", "firmware_protocol", "rig.cli.main"])
def test_importing_this_loads_nothing_heavy(module: str) -> None:
    assert loaded(LOADED_BY, module).isdisjoint(HEAVY)


@pytest.mark.long
def test_the_first_screen_loads_no_database_no_arrays_and_no_models(
    tmp_path: Path,
) -> None:
    names = loaded(LOADED_BY_THE_FIRST_SCREEN, str(tmp_path / "records.sqlite"))

    assert "textual" in names
    assert names.isdisjoint(set(HEAVY) - {"textual", "serial"})


@pytest.mark.parametrize(
    "module", ["rig.inquiry.run_list", "rig.sheets.run_list_sheet"]
)
def test_a_list_of_runs_loads_no_arrays(module: str) -> None:
    assert loaded(LOADED_BY, module).isdisjoint({"numpy", "scipy"})


def test_the_probe_sees_what_is_loaded() -> None:
    assert "numpy" in loaded(LOADED_BY, "numpy")


def test_the_wire_loads_nothing_of_ours_and_nothing_from_elsewhere() -> None:
    names = loaded(LOADED_BY_ALL_OF, "firmware_protocol")

    assert names.isdisjoint({"rig", "sim", "tests"})
    assert names.isdisjoint(HEAVY)


def test_no_module_of_the_simulated_rig_loads_the_host() -> None:
    names = loaded(LOADED_BY_ALL_OF, "sim")

    assert "sim" in names
    assert names.isdisjoint({"rig", "tests"})


def test_the_analysis_loads_no_simulated_rig_no_port_and_no_screen() -> None:
    names = loaded(LOADED_BY_ALL_OF, "rig.analysis")

    assert names.isdisjoint({"sim", "firmware_protocol", "serial", "textual", "pandas"})


def loaded_from_the_analysis(source: str) -> set[tuple[str, str]]:
    """Names that a module takes from the analysis when it runs, with where from."""
    tree = ast.parse(source)
    for_types = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    return {
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node not in for_types
        if node.module and node.module.startswith("rig.analysis")
        for alias in node.names
    }


@pytest.mark.long
def test_surfaces_take_nothing_but_types_from_the_analysis() -> None:
    taken = {
        (path.relative_to(ROOT).as_posix(), module, name)
        for surface in ("cli", "tui")
        for path in (ROOT / "rig" / surface).rglob("*.py")
        for module, name in loaded_from_the_analysis(path.read_text("utf-8"))
    }

    working = {
        (path, name)
        for path, module, name in taken
        if not isinstance(getattr(importlib.import_module(module), name), type)
    }

    assert working == set()


def test_a_surface_that_calculates_is_noticed() -> None:
    source = "from rig.analysis.numbers.ratio import ratio"

    assert loaded_from_the_analysis(source) == {("rig.analysis.numbers.ratio", "ratio")}
