"""The notebook runs from its first cell to its last, in a kernel of its own."""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from rig.api import Records, RunFilter

NOTEBOOK = (
    Path(__file__).parents[2]
    / "rig"
    / "api"
    / "notebooks"
    / "characterise_a_batch.ipynb"
)


@pytest.mark.long
def test_the_notebook_gives_what_is_on_record(tmp_path: Path) -> None:
    notebook = nbformat.read(NOTEBOOK, as_version=4)

    NotebookClient(
        notebook, kernel_name="python3", resources={"metadata": {"path": tmp_path}}
    ).execute()

    printed = "".join(
        output.text
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
        if output.output_type == "stream" and output.name == "stdout"
    )
    shown = [
        output.data
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
        if output.output_type in ("display_data", "execute_result")
    ]
    with Records(tmp_path / "batch.sqlite", read_only=True) as records:
        parts = records.frame("parts", RunFilter(sensor="level-18"))
    values = parts["operate_mm"]
    said = re.search(r"n = (\d+), mean ([\d.]+), s ([\d.]+) mm", printed)
    assert said is not None
    assert said.groups() == ("12", f"{values.mean():.3f}", f"{values.std():.3f}")
    # Parts differ from one another on the simulated rig as in a bag of real ones
    assert values.std() > 0.02
    assert printed.count("conforms") + printed.count("undecided") >= 12
    assert any("image/png" in data for data in shown)


def test_the_notebook_is_kept_without_what_it_printed() -> None:
    notebook = nbformat.read(NOTEBOOK, as_version=4)

    nbformat.validate(notebook)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


def test_the_notebook_says_first_that_the_axis_moves() -> None:
    first = nbformat.read(NOTEBOOK, as_version=4).cells[0]

    assert first.cell_type == "markdown"
    assert "The axis moves" in first.source
    assert "keep hands clear" in first.source
    assert "no safety function" in first.source
