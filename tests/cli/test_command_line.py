"""What people expect of any command line: version, help, quiet, pipes, plain errors."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rig.cli.help_topics import TOPICS
from rig.model.figure_kinds import FIGURE_KINDS
from rig.version import SOFTWARE_VERSION
from tests.cli.conftest import PROGRAM

PLAN = """title = "Week 12"
sweeps = 2
[[run]]
sensors = ["level-18"]
targets = ["steel"]
"""
CATALOGUE = """[[sensor]]
name = "own-18"
principle = "capacitive"
size_mm = 18
rated_distance_mm = 8
"""


def type_in(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """Let a text come from standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))


@pytest.mark.parametrize("flag", ["-V", "--version"])
def test_the_version_is_told(gapsweep: Callable[..., Any], flag: str) -> None:
    assert gapsweep(flag).out == f"gapsweep, version {SOFTWARE_VERSION}\n"


def test_help_explains_commands_as_their_own_help_does(
    gapsweep: Callable[..., Any],
) -> None:
    assert gapsweep("help", "lot", "part").out == gapsweep("lot", "part", "-h").out
    assert gapsweep("help", "sweep").out == gapsweep("sweep", "--help").out


@pytest.mark.parametrize("topic", TOPICS)
def test_help_lists_and_explains_topics(
    gapsweep: Callable[..., Any], topic: str
) -> None:
    assert f"  {topic} " in gapsweep("help").out
    assert len(gapsweep("help", topic).out.splitlines()) > 3


def test_help_on_figures_is_the_table_of_figures(gapsweep: Callable[..., Any]) -> None:
    told = gapsweep("help", "figures").out

    for kind in FIGURE_KINDS:
        assert kind.name in told
        assert kind.meaning in told


@pytest.mark.parametrize(
    ("words", "offer"), [(("figure",), "figures"), (("lot", "prat"), "part")]
)
def test_help_on_what_there_is_none_offers_the_nearest(
    gapsweep: Callable[..., Any], words: tuple[str, ...], offer: str
) -> None:
    outcome = gapsweep("help", *words)

    assert outcome.status == 2
    assert outcome.sentence == f"No help on {words[-1]!r}. Did you mean {offer!r}?"


@pytest.mark.parametrize(
    ("words", "path"),
    [
        (("--rig", "sim://", "sweep"), "gapsweep"),
        (("bench", "--rig", "sim://", "show"), "gapsweep bench"),
    ],
)
def test_an_option_before_its_command_is_told_its_place(
    gapsweep: Callable[..., Any], words: tuple[str, ...], path: str
) -> None:
    outcome = gapsweep(*words)

    assert outcome.status == 2
    assert outcome.sentence == (
        "--rig stands before the command; options go behind it, as in"
        f" `{path} COMMAND --rig ...`."
    )


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("show", "x"), 4),
        (("batch", "--from", "none.csv"), 2),
        (("results", "--newest", "0"), 2),
        (("check", "--rig", "/dev/no-such-port"), 3),
    ],
)
def test_an_error_is_a_document_where_one_was_asked_for(
    gapsweep: Callable[..., Any], words: tuple[str, ...], status: int
) -> None:
    outcome = gapsweep(*words, "--json")

    found = outcome.document
    assert outcome.status == status
    assert (found["document"], found["exit_status"]) == ("error", status)
    assert found["message"] == outcome.sentence
    assert gapsweep(*words).out == ""


def test_quiet_leaves_remarks_out_and_keeps_what_will_move(
    gapsweep: Callable[..., Any],
) -> None:
    words = ("sweep", "--rig", "sim://?seed=7", "--sweeps", "4")
    chatty = gapsweep(*words)
    quiet = gapsweep(*words, "--quiet")

    assert "Nothing is declared of this bench" in chatty.err
    assert "The axis moves. Keep hands clear" in quiet.err
    assert "declared" not in quiet.err
    assert "records: " in gapsweep("results").err
    assert gapsweep("results", "-q").err == ""


def test_the_catalogue_of_every_day_is_named_in_the_environment(
    gapsweep: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("own.toml").write_text(CATALOGUE, "utf-8")
    monkeypatch.setenv("GAPSWEEP_CATALOGUE", "own.toml")

    rig = "sim://?sensor=capacitive"
    outcome = gapsweep("sweep", "--rig", rig, "--sensor", "own-18", "--sweeps", "2")

    assert outcome.status == 0, outcome.err
    assert "sensor own-18" in outcome.out


def test_a_file_can_come_from_standard_input(
    gapsweep: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = "person,sensor,target,value_mm\nAnn,level-18,steel,7.9\n"
    type_in(monkeypatch, rows)

    outcome = gapsweep("import", "hand", "-", "--json")

    assert outcome.status == 0, outcome.err
    type_in(monkeypatch, "person,sensor\n")
    assert "the column 'target' is missing" in gapsweep("import", "hand", "-").err


@pytest.mark.long
def test_a_plan_says_how_it_is_named_and_can_be_listed(
    gapsweep: Callable[..., Any], own_place: Path
) -> None:
    Path("plan.toml").write_text(PLAN, "utf-8")

    ran = gapsweep("run", "plan.toml", "--rig", "sim://?seed=7")

    (plan,) = gapsweep("results", "--plans", "--json").document["plans"]
    assert f"`gapsweep report --plan {plan['plan_id']}`" in ran.out
    assert plan["title"] == "Week 12"
    assert plan["plan_id"] in gapsweep("results", "--plans").out
    reported = gapsweep("report", "--plan", plan["plan_id"])
    assert reported.status == 0, reported.err
    (page,) = own_place.glob("plan-Week-12-*.html")
    assert reported.out == f"wrote {page.name}\n"


def test_a_report_goes_to_standard_output_and_over_no_other_file(
    gapsweep: Callable[..., Any], measured: Callable[..., str]
) -> None:
    run_id = measured()
    Path("mine.html").write_text("mine", "utf-8")

    page = gapsweep("report", run_id, "--out", "-")
    over = gapsweep("report", run_id, "--out", "mine.html")
    as_pdf = gapsweep("report", run_id, "--out", "mine.pdf")

    assert page.out.startswith("<!DOCTYPE html>")
    assert over.status == as_pdf.status == 2
    assert over.sentence == "mine.html already exists and is not overwritten"
    assert Path("mine.html").read_text("utf-8") == "mine"
    assert as_pdf.sentence == (
        "mine.pdf cannot be written: a report is an HTML page, not .pdf"
    )
    assert "print it to one" in as_pdf.hint
    assert not Path("mine.pdf").exists()


@pytest.mark.long
def test_reports_without_a_name_say_what_they_are_of_and_stay_beside_each_other(
    gapsweep: Callable[..., Any], measured: Callable[..., str], own_place: Path
) -> None:
    run_id = measured("--part", "S-1")

    for _ in range(2):
        assert gapsweep("report", run_id).status == 0

    names = sorted(path.name for path in own_place.glob("*.html"))
    assert len(names) == 2
    assert all(name.startswith("run-level-18-S-1-steel-20") for name in names)


def test_names_that_are_nearly_right_are_told_the_right_one(
    gapsweep: Callable[..., Any], measured: Callable[..., str]
) -> None:
    measured("--part", "S-101")

    assert "Did you mean 'level-18'?" in gapsweep("results", "--sensor", "levl-18").out
    assert gapsweep("part", "S-10l").hint == "Did you mean 'S-101'?"
    assert gapsweep("export", "--target", "stele").hint == "Did you mean 'steel'?"
    pair = ("sweep", "--rig", "sim://", "--target", "pcv")
    assert gapsweep(*pair).hint == "did you mean 'pvc'?"


def test_shells_complete_commands_and_options() -> None:
    def completed(words: str) -> list[str]:
        asked = {
            "_GAPSWEEP_COMPLETE": "bash_complete",
            "COMP_WORDS": words,
            "COMP_CWORD": str(len(words.split(" ")) - 1),
        }
        done = subprocess.run(
            PROGRAM, env=os.environ | asked, capture_output=True, text=True, check=True
        )
        return [line.partition(",")[2] for line in done.stdout.splitlines()]

    assert completed("gapsweep swe") == ["sweep"]
    assert completed("gapsweep export --for") == ["--format"]
    assert completed("gapsweep export --format x") == ["xlsx"]
