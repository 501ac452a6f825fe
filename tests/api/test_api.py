"""`rig.api`: what scripts get is what commands give, and the example of README runs."""

from __future__ import annotations

import inspect
import io
import json
import pydoc
import re
import signal
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import chdir, closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from rig import api
from rig.api import ConnectedRig, ExportTable, Records, RunFilter
from rig.cli.main import run as gapsweep
from rig.errors import InputError, NoRecords, RunChanged, Stopped
from rig.model.attempts import Outcome
from rig.procedures.events import Event, SweepEnded
from rig.procedures.motions_ahead import (
    USUAL,
    motions_text,
    touch_off_and_run_ahead,
)

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
PART = "S-1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """What the example of README left.

    Attributes:
        location: Its records.
        out: What it printed.
        err: What it said on standard error.
    """

    location: Path
    out: str
    err: str


def section_of_readme() -> str:
    _, _, section = README.partition("## From Python\n")
    return section.partition("\n## ")[0].strip()


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Example:
    (block,) = re.findall(r"(?ms)^```python\n(.*?)^```", section_of_readme())
    folder = tmp_path_factory.mktemp("script")
    out, err = io.StringIO(), io.StringIO()
    with chdir(folder), redirect_stdout(out), redirect_stderr(err):
        exec(compile(block, "README.md", "exec"), {})
    return Example(
        location=folder / "lab.sqlite", out=out.getvalue(), err=err.getvalue()
    )


@pytest.fixture
def location(example: Example) -> Path:
    return example.location


@pytest.fixture
def records(location: Path) -> Iterator[Records]:
    with Records(location, read_only=True) as opened:
        yield opened


def unsaid(_sentence: str) -> None:
    """Take a sentence that nobody reads."""


def test_the_example_of_the_readme_prints_what_is_on_record(
    example: Example, records: Records
) -> None:
    (part,) = records.frame("parts").to_dict("records")
    value, uncertainty = part["operate_mm"], part["operate_expanded_uncertainty_mm"]

    first, head, *_ = example.out.splitlines()

    assert (part["part"], part["sensor"], part["target"]) == (PART, "level-18", "steel")
    assert first == f"{value:.3f} ± {uncertainty:.3f} mm, n = 6"
    assert head.split() == ["mean", "std", "count"]


def test_what_will_move_is_said_before_anything_else(example: Example) -> None:
    motions = motions_text(touch_off_and_run_ahead(USUAL))

    assert example.err.startswith(f"{motions}\n")


def test_the_section_of_the_readme_is_short() -> None:
    assert 0 < len(section_of_readme().splitlines()) < 25


def test_a_sweep_from_python_gives_the_figures_of_the_command(
    location: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = str(tmp_path / "own.sqlite")
    arguments = f"--sensor level-18 --target steel --part {PART} --sweeps 6".split()

    status = gapsweep(
        ["sweep", "--rig", "sim://?seed=7", "--records", own, "--json", *arguments]
    )

    document = json.loads(capsys.readouterr().out)
    with Records(location, read_only=True) as records:
        found = records.run("last").figures
    assert status == 0
    assert found is not None
    for field in ("operate", "release", "differential_travel"):
        of_command, of_script = document[f"{field}_mm"], getattr(found, field)
        assert of_command["value"] == of_script.value
        assert of_command["expanded_uncertainty"] == of_script.expanded_uncertainty


@pytest.mark.parametrize("table", ExportTable)
def test_every_exported_table_is_a_frame_of_the_same_columns_and_values(
    table: ExportTable, records: Records, exported: Path
) -> None:
    expected = pd.read_parquet(exported / f"{table}.parquet")

    frame = records.frame(table)

    assert list(frame.columns) == list(expected.columns)
    assert len(frame) == len(expected)
    for name in frame.columns:
        ours = [None if pd.isna(value) else value for value in frame[name]]
        theirs = [None if pd.isna(value) else value for value in expected[name]]
        assert ours == theirs, name


@pytest.fixture(scope="module")
def exported(example: Example, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same records as Parquet files, written by the command."""
    out = tmp_path_factory.mktemp("tables") / "out"
    where = ("--records", str(example.location), "--out", str(out))
    assert gapsweep(["export", "--format", "parquet", *where]) == 0
    return out


def test_columns_have_types_and_simulated_rows_say_so(records: Records) -> None:
    frame = records.frame("sweeps")

    assert frame["operate_gap_mm"].dtype == "float64"
    assert frame["sweep_index"].dtype == "Int64"
    assert frame["ended_at"].dtype == "datetime64[us, UTC]"
    assert frame["simulated"].dtype == "boolean"
    assert frame["simulated"].all()
    assert set(frame["part"]) == {PART}


def test_an_empty_table_has_its_columns_and_types(records: Records) -> None:
    frame = records.frame("hand_readings")

    assert frame.empty
    assert frame["value_mm"].dtype == "float64"


def test_points_at_rest_have_the_figure_as_their_mean(records: Records) -> None:
    found = records.run("last")

    points = records.points("last")

    assert found.figures is not None
    assert points.simulated
    assert points.number.tolist() == [1, 2, 3, 4, 5, 6]
    assert points.speed_mm_s.tolist() == [1.0, 4.0] * 3
    assert points.used.all()
    assert np.mean(points.operate_at_rest_mm) == pytest.approx(
        found.figures.operate.value, abs=1e-9
    )
    assert np.mean(points.release_at_rest_mm) == pytest.approx(
        found.figures.release.value, abs=1e-9
    )
    # The gap at the edge is that of the sweep table
    gaps = records.frame("sweeps")["operate_gap_mm"]
    assert points.operate_with_delay_mm.tolist() == gaps.tolist()


def test_a_run_that_was_changed_gives_no_points(location: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    with (
        closing(sqlite3.connect(location)) as kept,
        closing(sqlite3.connect(copy, isolation_level=None)) as tool,
    ):
        kept.backup(tool)
        guards = tool.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in guards.fetchall():
            tool.execute(f"DROP TRIGGER {name}")
        tool.execute("UPDATE edges SET position_steps = position_steps + 40")

    with Records(copy, read_only=True) as records:
        (said,) = records.frame("runs")["changed"]
        with pytest.raises(RunChanged, match="was changed after it was recorded"):
            records.points("last")

    assert "was changed" in said


def test_what_is_wrong_is_told_by_the_errors_of_the_rest(
    records: Records, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="there is no table 'sweep'") as wrong:
        records.frame("sweep")
    with pytest.raises(InputError, match="nothing on record is of what was chosen"):
        records.frame("runs", RunFilter(sensor="level-30"))
    with pytest.raises(NoRecords):
        Records(tmp_path / "none.sqlite", read_only=True)
    with ConnectedRig("sim://", say=unsaid) as rig:
        with pytest.raises(InputError, match="there is no sensor 'level-81'") as known:
            rig.sweep(records, sensor="level-81")
        with pytest.raises(InputError, match="temperature is 294: give"):
            rig.sweep(records, temperature_c=294.0)

    assert "sweeps" in wrong.value.hint
    assert "level-18" in known.value.hint


def test_frames_without_pandas_name_the_extra(
    records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)

    with pytest.raises(InputError, match="need the extra `frames`") as missing:
        records.frame("runs")

    assert "pip install '.[frames]'" in missing.value.hint


def test_records_are_those_that_the_environment_names(
    location: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(location))

    with Records(read_only=True) as records:
        assert list(records.frame("runs")["part"]) == [PART]


def test_a_stop_ends_a_sweep_and_the_attempt_is_on_record_as_stopped(
    tmp_path: Path,
) -> None:
    before = signal.getsignal(signal.SIGINT)
    said: list[str] = []
    stops = [lambda: signal.raise_signal(signal.SIGINT), lambda: rig.stop()]

    def stop_where_nothing_moves_yet(sentence: str) -> None:
        said.append(sentence)
        # After the list of motions the attempt begins, with a remark
        if said[-2:-1] and said[-2].startswith("The axis moves") and stops:
            stops.pop(0)()

    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=stop_where_nothing_moves_yet) as rig,
    ):
        for _ in range(2):
            with pytest.raises(Stopped, match="stopped on request"):
                rig.sweep(records, sweeps=2)
            assert not rig._rig.mover._has_moved
        again = rig.sweep(records, sweeps=2)
        outcomes = records.frame("attempts")["outcome"].tolist()

    assert sum(one.startswith("stopping") for one in said) == 1
    assert outcomes == [Outcome.STOPPED, Outcome.STOPPED, Outcome.FIGURES]
    assert len(again.recorded.readings) == 2
    assert signal.getsignal(signal.SIGINT) is before


def test_a_stop_in_motion_leaves_the_run_unfinished_on_record(tmp_path: Path) -> None:
    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=unsaid) as rig,
    ):
        tell = rig._tell

        def stop_after_the_first_sweep(event: Event) -> None:
            tell(event)
            if isinstance(event, SweepEnded):
                rig.stop()

        rig._tell = stop_after_the_first_sweep  # type: ignore[method-assign]
        with pytest.raises(Stopped):
            rig.sweep(records, sweeps=6)
        (run,) = records.frame("runs").to_dict("records")
        points = records.points("last")

    assert pd.isna(run["ended_at"])
    assert run["sweeps_good"] == 1
    assert points.used.tolist() == [True]
    assert np.isnan(points.operate_at_rest_mm).all()


def test_all_that_is_offered_is_documented_and_typed() -> None:
    for name in api.__all__:
        offered = getattr(api, name)
        assert inspect.getdoc(offered), name
        if not offered.__module__.startswith("rig.api"):
            continue
        for method, made in inspect.getmembers(offered, inspect.isfunction):
            if not method.startswith("_"):
                assert inspect.getdoc(made), f"{name}.{method}"
                assert "return" in made.__annotations__, f"{name}.{method}"


def test_pydoc_shows_all_that_is_offered() -> None:
    text = pydoc.plain(pydoc.render_doc("rig.api"))

    for name in api.__all__:
        assert f"class {name}(" in text, name
    assert "Touch off and sweep one part; the axis moves, so keep hands clear." in text


def test_only_what_is_offered_is_there() -> None:
    assert set(api.__all__) == set(api._MODULES) <= set(dir(api))
    with pytest.raises(AttributeError, match="has no attribute 'Rig'"):
        api.Rig  # noqa: B018
