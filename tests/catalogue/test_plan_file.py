"""What a wrong plan file is told: file, line, field, and what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import Plan, load_plan, parse_plan
from rig.errors import InputError

TITLE = 'title = "Week 12"\n'
RUN = '[[run]]  # the first\nsensors = ["level-18"]\ntargets = ["steel"]\n'
SENSOR = """[[sensor]]
name = "level-18-new"
principle = "capacitive"
size_mm = 18
rated_distance_mm = 8
"""


def plan(text: str) -> Plan:
    return parse_plan(text, "week.toml", load_catalogue())


def complaint(text: str) -> tuple[str, str]:
    with pytest.raises(InputError) as caught:
        plan(text)
    assert caught.value.exit_status == 2
    return str(caught.value), caught.value.hint


def test_every_sensor_meets_every_target_in_the_order_of_the_file() -> None:
    found = plan(
        TITLE
        + "sweeps = 7\nspeeds_mm_s = [1, 2.5]\n"
        + SENSOR
        + "[[run]]\nsensors = ['level-18', 'level-18-new']\n"
        + "targets = ['pvc', 'steel']\n"
        + "[[run]]\nsensors = ['gate-8']\ntargets = ['brass']\nsweeps = 3\n"
        + "speeds_mm_s = [2]\n"
    )

    assert [
        (run.sensor.name, run.target.name, run.sweeps, run.speeds_mm_s)
        for run in found.runs
    ] == [
        ("level-18", "pvc", 7, (1.0, 2.5)),
        ("level-18", "steel", 7, (1.0, 2.5)),
        ("level-18-new", "pvc", 7, (1.0, 2.5)),
        ("level-18-new", "steel", 7, (1.0, 2.5)),
        ("gate-8", "brass", 3, (2.0,)),
    ]


@pytest.mark.parametrize(
    ("text", "sentence", "hint"),
    [
        pytest.param(
            RUN,
            "week.toml: field 'title' is missing",
            "needed: title, run",
            id="title-missing",
        ),
        pytest.param(
            TITLE,
            "week.toml: field 'run' is missing",
            "needed: title, run",
            id="runs-missing",
        ),
        pytest.param(
            TITLE + "run = []\n",
            "week.toml, line 2: field 'run' is empty: it must have at least 1 entry",
            "",
            id="no-run",
        ),
        pytest.param(
            TITLE + "run = 3\n",
            "week.toml, line 2: field 'run' is 3: it must be a list in square brackets",
            "",
            id="run-is-a-number",
        ),
        pytest.param(
            TITLE + '[run]\nsensors = ["level-18"]\ntargets = ["steel"]\n',
            "week.toml, line 2: field 'run' is a table",
            "each run begins with [[run]] in double brackets",
            id="single-brackets",
        ),
        pytest.param(
            "swep = 3\n" + TITLE + RUN,
            "week.toml, line 1: unknown field 'swep'",
            "did you mean 'sweeps'?",
            id="unknown-at-the-top",
        ),
        pytest.param(
            "colour = 3\n" + TITLE + RUN,
            "week.toml, line 1: unknown field 'colour'",
            "known: title, sweeps, speeds_mm_s, interleave, product, sensor, target,"
            " run",
            id="unknown-and-like-nothing",
        ),
        pytest.param(
            TITLE + RUN + "swepes = 3\n",
            "week.toml, line 5: unknown field 'swepes' in run 1",
            "did you mean 'sweeps'?",
            id="unknown-in-a-run",
        ),
        pytest.param(
            TITLE + RUN.replace("sensors", "senors"),
            "week.toml, line 3: unknown field 'senors' in run 1",
            "did you mean 'sensors'?",
            id="mistyped-rather-than-missing",
        ),
        pytest.param(
            TITLE + RUN + "[[run]]\ntargets = ['steel']\n",
            "week.toml, line 5: field 'sensors' in run 2 is missing",
            "needed: sensors, targets",
            id="missing-in-the-second-run",
        ),
        pytest.param(
            TITLE + RUN + 'sweeps = "10"\n',
            "week.toml, line 5: field 'sweeps' in run 1 is '10': "
            "it must be a whole number",
            "",
            id="number-in-quotes",
        ),
        pytest.param(
            TITLE + RUN + "sweeps = true\n",
            "week.toml, line 5: field 'sweeps' in run 1 is true: "
            "it must be a whole number",
            "",
            id="truth-for-a-number",
        ),
        pytest.param(
            TITLE + RUN + "sweeps = 2.5\n",
            "week.toml, line 5: field 'sweeps' in run 1 is 2.5: "
            "it must be a whole number",
            "",
            id="fraction-of-a-sweep",
        ),
        pytest.param(
            TITLE + RUN + "sweeps = 0\n",
            "week.toml, line 5: field 'sweeps' in run 1 is 0: it must be 1 or more",
            "",
            id="too-few",
        ),
        pytest.param(
            TITLE + "sweeps = 10001\n" + RUN,
            "week.toml, line 2: field 'sweeps' is 10001: it must be 10000 or less",
            "",
            id="too-many",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = [1, nan]\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s', item 2, is nan: "
            "it must be a finite number",
            "",
            id="not-a-number",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = [\n  1,\n  12,\n]\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s', item 2, is 12: "
            "it must be 10 or less",
            "",
            id="too-fast",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = 1\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s' is 1: "
            "it must be a list in square brackets",
            "",
            id="speed-without-brackets",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = []\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s' is empty: "
            "it must have at least 1 entry",
            "",
            id="no-speed",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = [1, 2, 3, 4, 5, 6, 7, 8, 9]\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s' is a list: "
            "it has 9 entries and must have at most 8",
            "",
            id="too-many-speeds",
        ),
        pytest.param(
            TITLE + "speeds_mm_s = [[1]]\n" + RUN,
            "week.toml, line 2: field 'speeds_mm_s', item 1, is a list: "
            "it must be a number",
            "",
            id="list-in-a-list",
        ),
        pytest.param(
            "title = 2026-01-01\n" + RUN,
            "week.toml, line 1: field 'title' is 2026-01-01: "
            "it must be a text in quotes",
            "",
            id="date-for-a-text",
        ),
        pytest.param(
            'title = ""\n' + RUN,
            "week.toml, line 1: field 'title' is '': it must not be empty",
            "",
            id="empty-title",
        ),
        pytest.param(
            f'title = "{"x" * 81}"\n' + RUN,
            f"week.toml, line 1: field 'title' is '{'x' * 40}'...: "
            "it must have at most 80 characters",
            "",
            id="long-title",
        ),
        pytest.param(
            TITLE + RUN.replace("level-18", "level18"),
            "week.toml, line 3: field 'sensors' in run 1: "
            "there is no sensor 'level18' in the catalogue",
            "did you mean 'level-18'?",
            id="unknown-sensor",
        ),
        pytest.param(
            TITLE + RUN.replace("steel", "nope"),
            "week.toml, line 4: field 'targets' in run 1: "
            "there is no target 'nope' in the catalogue",
            "known: steel, steel-unearthed, stainless, brass, aluminium, copper, pvc, "
            "glass, plywood, cardboard, wheat, water",
            id="unknown-target",
        ),
        pytest.param(
            TITLE + RUN + SENSOR.replace("capacitive", "optical"),
            "week.toml, line 7: field 'principle' in sensor 1 is 'optical': "
            "it must be 'capacitive' or 'inductive'",
            "",
            id="unknown-principle",
        ),
        pytest.param(
            TITLE + RUN + SENSOR + SENSOR,
            "week.toml, line 11: field 'name' in sensor 2 is 'level-18-new': "
            "number 1 has this name already, and each must have its own",
            "",
            id="same-name-twice",
        ),
    ],
)
def test_a_wrong_plan_is_told_file_line_field_and_what_would_be_right(
    text: str, sentence: str, hint: str
) -> None:
    assert complaint(text) == (sentence, hint)


@pytest.mark.parametrize(
    ("text", "spot"),
    [
        # Runs in one inline array: the line where its statement begins
        (
            TITLE + 'run = [\n  {sensors = ["level-18"], targets = ["steel"]},\n'
            '  {sensors = ["level-18"], targets = ["steel"], sweeps = 0},\n]\n',
            "week.toml, line 2: field 'sweeps' in run 2 is 0",
        ),
        (
            TITLE + '[[ "run" ]]\n"sensors" = ["level-18"]\n"targets" = ["steel"]\n'
            "'sweeps' = 0\n",
            "week.toml, line 5: field 'sweeps' in run 1 is 0",
        ),
        # A title that looks like a table with the very field in it
        (
            'title = """\n[[run]]\nsweeps = 3\n"""\n' + RUN + "  sweeps   =   0\n",
            "week.toml, line 8: field 'sweeps' in run 1 is 0",
        ),
        # The second run's line, not the first's
        (
            TITLE + RUN + "sweeps = 5\n\n# again\n" + RUN + "sweeps = 0\n",
            "week.toml, line 11: field 'sweeps' in run 2 is 0",
        ),
        (
            TITLE + RUN + "sensor.a.b = 1\n",
            "week.toml, line 5: unknown field 'sensor' in run 1",
        ),
        (
            TITLE + RUN + "[run.limits]\n",
            "week.toml, line 5: unknown field 'limits' in run 1",
        ),
    ],
    ids=["inline", "quoted-keys", "in-a-text", "second-run", "dotted", "sub-table"],
)
def test_the_line_is_right_in_other_ways_of_writing_toml(text: str, spot: str) -> None:
    assert complaint(text)[0].startswith(spot)


@pytest.mark.parametrize(
    "text",
    [
        "title = \n",
        "title = 'a'\ntitle = 'b'\n",
        f"sweeps = 1{'0' * 5000}\n",
        "[" * 9000,
    ],
    ids=["no-value", "twice", "number-beyond-all-bounds", "nested-without-end"],
)
def test_what_is_no_toml_is_told_so_with_the_file(text: str) -> None:
    sentence, _ = complaint(text)

    assert sentence.startswith("week.toml is not valid TOML: ")
    assert "\n" not in sentence


def told_of_file(path: Path) -> tuple[str, str]:
    with pytest.raises(InputError) as caught:
        load_plan(path, load_catalogue())
    return str(caught.value), caught.value.hint


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"

    assert told_of_file(path)[0] == f"there is no file {path}"


def test_a_folder_is_no_plan(tmp_path: Path) -> None:
    assert told_of_file(tmp_path)[0] == f"{tmp_path} is a folder, and a file is needed"


def test_a_file_that_is_not_utf8_is_told_the_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(b'# a plan\ntitle = "Pr\xfcfung"\n')

    assert told_of_file(path) == (
        f"{path}, line 2: byte 0xfc is not UTF-8",
        "save the file as UTF-8 text",
    )


def test_a_path_through_a_file_is_told_with_the_system_s_reason(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    path = tmp_path / "file" / "plan.toml"

    assert told_of_file(path)[0] == f"{path} cannot be read: not a directory"


def test_a_plan_with_byte_order_mark_and_dos_lines_is_read(tmp_path: Path) -> None:
    path = tmp_path / "dos.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (TITLE + RUN).replace("\n", "\r\n").encode())

    assert load_plan(path, load_catalogue()).title == "Week 12"
