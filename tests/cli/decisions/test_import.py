"""`gapsweep import`: tables of a spreadsheet, and every fault by its cell."""

from __future__ import annotations

import csv
import string
import unicodedata
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import load_plan
from rig.model.mounted import DataSheetLimit, OutputKind, Principle, Sensor, Target
from rig.model.spreadsheet import guarded

SENSORS = """name,principle,size_mm,rated_distance_mm,output,s_r_lower,s_r_upper,H_upper
bin-18,capacitive,18,8,NC,0.92,1.08,0.15
gate-9,inductive,8.5,3,,,,
"""
TARGETS = """name;material;thickness_mm;earthed;wall_material;wall_mm
plate-2;steel;2;TRUE;;
barley;barley;60;;pp;0.5
"""
PLAN = """sensor,target,part,sweeps,speeds_mm_s,timetable_h,timetable_readings
level-18,steel,0017,6,1 4,,
level-18,pvc,0017,,,,
gate-8,steel,,2,2,8,9
"""
HAND = """person,sensor,target,value_mm,figure
Ann,level-18,steel,8.1,
Ann,level-18,steel,7.9,
Ann,level-18,pvc,3.9,release
Ben,gate-8,steel,3.02,operate
"""


@pytest.fixture
def written(tmp_path: Path, gapsweep):
    def write(name: str, text: str, encoding: str = "utf-8") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding)
        return path

    return write


def test_sensors_and_targets_become_one_catalogue(gapsweep, written) -> None:
    outcome = gapsweep(
        *("import", "catalogue", "--sensors", written("s.csv", SENSORS)),
        *("--targets", written("t.csv", TARGETS)),
    )

    assert outcome.status == 0, outcome.err
    assert outcome.out == "wrote catalogue.toml: 2 sensors, 2 targets\n"
    found = load_catalogue(Path("catalogue.toml"))
    assert found.sensor("bin-18") == Sensor(
        name="bin-18",
        principle=Principle.CAPACITIVE,
        size_mm=18.0,
        rated_distance_mm=8.0,
        output=OutputKind.NORMALLY_CLOSED,
        data_sheet_limits=(
            DataSheetLimit(symbol="s_r", lower=0.92, upper=1.08),
            DataSheetLimit(symbol="H", upper=0.15),
        ),
    )
    assert found.sensor("gate-9").data_sheet_limits == ()
    assert found.target("plate-2").earthed
    assert found.target("barley") == Target(
        name="barley",
        material="barley",
        thickness_mm=60.0,
        wall_material="pp",
        wall_mm=0.5,
    )


def test_a_plan_of_a_table_runs(gapsweep, written) -> None:
    outcome = gapsweep("import", "plan", written("week 12.csv", PLAN))

    assert outcome.status == 0, outcome.err
    assert outcome.out == "wrote plan.toml: 3 runs\n"
    plan = load_plan(Path("plan.toml"), load_catalogue())
    assert plan.title == "week 12"
    first, second, third = plan.runs
    assert (first.part, first.sweeps, first.speeds_mm_s) == ("0017", 6, (1.0, 4.0))
    assert (second.target.name, second.sweeps) == ("pvc", 10)
    assert third.timetable is not None
    assert (third.timetable.hours, third.timetable.readings) == (8.0, 9)
    assert third.sweeps == 2 * 9
    short = written("one.csv", "sensor,target,sweeps\nlevel-18,steel,2\n")
    gapsweep("import", "plan", short, "--out", "one.toml", "--title", "One")
    run = gapsweep("run", "one.toml", "--rig", "sim://?seed=2", "--json")
    assert run.status == 0, run.err
    assert run.document["title"] == "One"


@pytest.mark.long
def test_hand_readings_of_several_sensors_are_entered(gapsweep, written) -> None:
    outcome = gapsweep("import", "hand", written("class.csv", HAND), "--json")

    assert outcome.document["entered"] == 4
    assert outcome.document["people"] == ["Ann", "Ben"]
    run_id = gapsweep(
        *("sweep", "--rig", "sim://?seed=1", "--target", "steel", "--sweeps", 5),
        "--json",
    ).document["run_id"]
    compared = gapsweep("hand", "compare", run_id, "--json").document
    assert [one["person"] for one in compared["people"]] == ["Ann"]


def test_the_step_of_a_readout_comes_with_its_row(gapsweep, written) -> None:
    rows = HAND.replace("figure\n", "figure,step_mm\n")
    rows = rows.replace("8.1,\n", "8.1,,0.1\n").replace("7.9,\n", "7.9,,0.1\n")
    rows = rows.replace("release\n", "release,\n").replace("operate\n", "operate,\n")

    outcome = gapsweep("import", "hand", written("class.csv", rows), "--json")
    gapsweep("export", "--out", "export")

    assert outcome.document["entered"] == 4
    with Path("export/hand_readings.csv").open(encoding="utf-8-sig") as file:
        exported = list(csv.DictReader(file))
    assert [row["step_mm"] for row in exported] == ["0.1", "0.1", "", ""]
    run_id = gapsweep(
        *("sweep", "--rig", "sim://?seed=1", "--target", "steel", "--sweeps", 5),
        "--json",
    ).document["run_id"]
    (ann,) = gapsweep("hand", "compare", run_id, "--json").document["people"]
    assert (ann["step_mm"], ann["step_assumed"]) == (0.1, False)


def test_a_step_that_is_none_is_refused_by_its_cell(complaint, written) -> None:
    path = written(
        "class.csv", "person,sensor,target,value_mm,step_mm\nAnn,level-18,steel,8,0\n"
    )

    assert "line 2, column 'step_mm' is '0'" in complaint("import", "hand", path)


FAULTS = [
    ("bin 18", "capacitive", "18", "8", "'name' is 'bin 18': it must be 1 to 40"),
    ("a", "optical", "18", "8", "'principle' is 'optical': it must be 'capacitive' or"),
    ("a", "inductive", "8,500", "8", "'size_mm' is '8,500', which can be read as"),
    (
        "a",
        "inductive",
        "18 mm",
        "8",
        "'size_mm' is '18 mm', not a number; give",
    ),
    ("a", "inductive", "", "8", "'size_mm' is empty, and is needed"),
    ("a", "inductive", "18", "-8", "'rated_distance_mm' is '-8': it must be above 0"),
    ("a", "inductive", "inf", "8", "'size_mm' is 'inf', not a number"),
    ("a", "inductive", "1e4", "8", "'size_mm' is '1e4': it must be 1000 or less"),
]


@pytest.mark.parametrize("fault", FAULTS, ids=[fault[4] for fault in FAULTS])
def test_a_fault_names_file_row_column_and_what_would_be_right(
    complaint, written, fault
) -> None:
    *cells, words = fault
    head = "name,principle,size_mm,rated_distance_mm\n"
    good = "good,inductive,8,3\n"
    row = ",".join(f'"{cell}"' for cell in cells)
    path = written("s.csv", f"{head}{good}{row}\n")

    told = complaint("import", "catalogue", "--sensors", path)

    assert f"{path}, line 3, column {words}" in told
    assert not Path("catalogue.toml").exists()


def test_all_faults_are_told_at_once_in_the_order_of_the_rows(
    gapsweep, written
) -> None:
    path = written(
        "t.csv",
        "name,material,thickness_mm,earthed,wall_material,wall_mm\n"
        "a,steel,thin,yes,,\n"
        "b,steel,1,perhaps,,\n"
        "c,wheat,60,,pp,\n"
        "d,steel,1,,,\n",
    )

    outcome = gapsweep("import", "catalogue", "--targets", path)

    assert outcome.status == 2
    head, *told = outcome.err.strip().splitlines()
    assert head == f"gapsweep: 3 cells of {path} are not right; nothing was imported"
    assert [line.split(", column")[0].strip() for line in told] == [
        f"{path}, line {k}" for k in (2, 3, 4)
    ]
    assert "'earthed' is 'perhaps': it must be yes or no" in told[1]
    assert "a cell needs both wall_material and wall_mm" in told[2]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,material,thickness\na,b,1\n", "the column 'thickness_mm' is missing"),
        (
            "name,material,thickness_mm,earthd\na,b,1,yes\n",
            "did you mean 'earthed'?",
        ),
        ("name,material,thickness_mm\na,b,1\na,c,2\n", "line 2 has this name already"),
        ("name,material,thickness_mm\na,b,1,5\n", "4 cells for 3 columns"),
        ("name,material,thickness_mm\n", "has a header and no row"),
        ("", "is empty"),
    ],
)
def test_tables_that_are_not_whole_are_refused(complaint, written, text, words) -> None:
    assert words in complaint("import", "catalogue", "--targets", written("t", text))


def test_unknown_names_are_told_by_row_with_the_nearest(gapsweep, written) -> None:
    path = written("p.csv", "sensor,target\nlevel-18,steal\nlevle-18,pvc\n")

    outcome = gapsweep("import", "plan", path)

    assert outcome.status == 2
    assert (
        "line 2, column 'target' is 'steal': there is no target 'steal' in the"
        " catalogue; did you mean 'steel'?" in outcome.err
    )
    assert "line 3, column 'sensor' is 'levle-18'" in outcome.err
    assert not Path("plan.toml").exists()


def test_readings_with_one_fault_are_not_entered_at_all(complaint, written) -> None:
    path = written("h.csv", HAND + "Cem,level-18,steel,8.0,middle\n")

    told = complaint("import", "hand", path)

    assert "line 6, column 'figure' is 'middle': it must be 'operate' or" in told
    assert not Path("measured.sqlite").exists()


def test_a_file_that_is_there_is_left_alone(complaint, written) -> None:
    kept = written("catalogue.toml", "# by hand\n")

    told = complaint("import", "catalogue", "--targets", written("t.csv", TARGETS))

    assert "catalogue.toml already exists and is not overwritten" in told
    assert kept.read_text() == "# by hand\n"


def test_nothing_to_import_is_refused(complaint) -> None:
    assert "give --sensors, --targets or both" in complaint("import", "catalogue")


def test_what_a_spreadsheet_does_to_a_file_does_not_matter(gapsweep, written) -> None:
    # A byte order mark, semicolons, CRLF, a cell kept from being a formula, blank rows
    text = "name;material;thickness_mm\r\nx-1;'=stahl;1\r\n;;\r\n"
    path = written("t.csv", text, "utf-8-sig")

    assert gapsweep("import", "catalogue", "--targets", path).status == 0
    assert load_catalogue(Path("catalogue.toml")).target("x-1").material == "=stahl"


NAMES = st.text(string.ascii_letters + string.digits, min_size=1, max_size=20)
TEXTS = st.text(
    st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=40
).filter(lambda text: unicodedata.is_normalized("NFC", text))
SIZES = st.floats(0.001, 1000.0)
PLATES = st.builds(
    Target, name=NAMES, material=TEXTS, thickness_mm=SIZES, earthed=st.booleans()
)


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(targets=st.lists(PLATES, min_size=1, unique_by=lambda target: target.name))
def test_targets_come_back_from_table_and_file_as_they_were(
    gapsweep, tmp_path, targets
) -> None:
    path, out = tmp_path / "t.csv", tmp_path / "out.toml"
    out.unlink(missing_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["name", "material", "thickness_mm", "earthed"])
        for target in targets:
            earthed = "yes" if target.earthed else "no"
            # As an export writes it: text that a spreadsheet would alter is marked
            material = guarded(target.material)
            row = [target.name, material, repr(target.thickness_mm), earthed]
            writer.writerow(row)

    outcome = gapsweep("import", "catalogue", "--targets", path, "--out", out)

    assert outcome.status == 0, outcome.err
    found = load_catalogue(out)
    assert [found.target(target.name) for target in targets] == targets
