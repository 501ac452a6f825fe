"""Verdicts and reduction factors of `gapsweep show` on simulated runs."""

from __future__ import annotations

import pytest


def test_a_run_on_the_standard_target_gets_its_verdicts(gapsweep, measured) -> None:
    run_id = measured("S-1", sweeps=6)["run_id"]

    shown = gapsweep("show", run_id, "--json")

    assert shown.status == 0
    verdicts = shown.document["verdicts"]
    assert set(verdicts) == {"s_r", "H", "R"}
    # A range of seconds decides nothing about the limit of the 8 h test
    assert verdicts["R"]["decision"] == "not tested"
    assert verdicts["R"]["rule"] == ""
    for symbol in ("s_r", "H"):
        assert verdicts[symbol]["decision"] == "conforms"
        assert "guard band" in verdicts[symbol]["rule"]
    for one in verdicts.values():
        assert "IEC 60947-5-2" in one["limits"]["source"]
        assert "from memory" in one["limits"]["source"]
    # 0.9 and 1.1 times 8 mm
    limits = verdicts["s_r"]["limits"]
    assert (limits["lower"], limits["upper"]) == (7.2, 8.8)
    assert "not the 8 h test" in " ".join(shown.document["verdict_statements"])


def test_a_sensor_beyond_its_limit_ends_with_status_1(gapsweep, measured) -> None:
    run_id = measured("S-2", sensitivity=1.4)["run_id"]

    shown = gapsweep("show", run_id)

    assert shown.status == 1
    assert "does not conform" in shown.out
    assert "Decision rule: guarded acceptance" in shown.out


def test_limits_of_the_data_sheet_stay_with_the_run(
    gapsweep, measured, tmp_path
) -> None:
    catalogue = tmp_path / "own.toml"
    catalogue.write_text(
        '[[sensor]]\nname = "tight-18"\nprinciple = "capacitive"\nsize_mm = 18\n'
        "rated_distance_mm = 8\n\n[sensor.limits]\nH = { upper = 0.1 }\n"
    )
    options = ("--sensor", "tight-18", "--catalogue", catalogue)
    run_id = measured("S-3", *options)["run_id"]
    catalogue.unlink()

    shown = gapsweep("show", run_id, "--json")

    verdict = shown.document["verdicts"]["H"]
    assert shown.status == 1
    assert verdict["decision"] == "does not conform"
    assert verdict["limits"]["upper"] == pytest.approx(10.0)
    assert verdict["limits"]["source"] == "data sheet of tight-18"


def test_another_target_gets_words_and_no_verdict(gapsweep, measured) -> None:
    run_id = measured("S-4", target="pvc")["run_id"]

    shown = gapsweep("show", run_id, "--json")

    assert shown.status == 0
    assert shown.document["verdicts"] == {}
    said = " ".join(shown.document["verdict_statements"])
    assert "No verdict: the target is pvc" in said


@pytest.mark.long
def test_a_reduction_factor_shares_the_touch_probe(gapsweep, measured) -> None:
    steel = measured("S-5")
    pvc = measured("S-5", target="pvc")

    shown = gapsweep("show", pvc["run_id"], "--against", steel["run_id"], "--json")

    factor = shown.document["reduction_factor"]
    expected = pvc["operate_mm"]["value"] / steel["operate_mm"]["value"]
    assert factor["value"] == pytest.approx(expected, rel=1e-12)
    assert factor["expanded_uncertainty"] > 0.0
    assert factor["against_target"] == "steel"


@pytest.mark.long
def test_a_reduction_factor_of_two_parts_is_refused(complaint, measured) -> None:
    steel = measured("S-6")
    pvc = measured("S-7", target="pvc")

    told = complaint("show", pvc["run_id"], "--against", steel["run_id"])

    assert "of one sensor on two targets" in told


@pytest.mark.long
def test_other_conditions_of_two_parts_are_refused(complaint, measured) -> None:
    rated, cold = measured("S-6"), measured("S-7")

    told = complaint("show", rated["run_id"], "--under", f"cold={cold['run_id']}")

    assert "s_u and s_a are those of one sensor on one target" in told


def test_every_result_says_that_there_is_no_calibration(gapsweep, measured) -> None:
    document = measured("S-8")

    shown = gapsweep("show", document["run_id"])

    sentence = "The axis has no calibration: positions rest on the nominal screw."
    assert sentence in document["warnings"]
    assert sentence in shown.out


def test_unknown_limits_in_a_catalogue_name_file_and_line(complaint, tmp_path) -> None:
    catalogue = tmp_path / "own.toml"
    catalogue.write_text(
        '[[sensor]]\nname = "s"\nprinciple = "capacitive"\nsize_mm = 18\n'
        "rated_distance_mm = 8\n[sensor.limits]\nH = { uper = 0.1 }\n"
    )

    told = complaint(
        *("sweep", "--rig", "sim://", "--sensor", "s", "--catalogue", catalogue)
    )

    assert f"{catalogue}, line 7: unknown field 'limits.H.uper' in sensor 1" in told
    assert "did you mean 'upper'?" in told


@pytest.mark.long
def test_other_conditions_give_s_u_and_s_a(gapsweep, measured) -> None:
    rated = measured("S-9")
    cold = measured("S-9", sensitivity=0.9)
    hot = measured("S-9", sensitivity=1.4)

    shown = gapsweep(
        *("show", rated["run_id"], "--json"),
        *("--under", f"cold={cold['run_id']}", "--under", f"hot={hot['run_id']}"),
    )

    found = shown.document["usable_distance"]
    assert found["s_u_smallest"]["under"] == "cold"
    assert found["s_u_largest"]["under"] == "hot"
    ratio = cold["operate_mm"]["value"] / rated["operate_mm"]["value"]
    assert found["s_u_smallest"]["figure"]["value"] == pytest.approx(ratio)
    # Capacitive: 0.72 times 8 mm, in reach when cold
    assert found["s_a"]["limits"]["lower"] == pytest.approx(5.76)
    assert found["s_a"]["decision"] == "conforms"
    assert "it says nothing of others" in found["statements"][0]


def test_the_switching_delay_is_held_against_the_data_sheet(gapsweep, measured) -> None:
    run_id = measured("S-10", sweeps=10)["run_id"]

    shown = gapsweep("show", run_id, "--json").document

    # 50 Hz stand in the catalogue
    assert shown["switching_delay"]["limits"]["upper"] == pytest.approx(20.0)
    assert shown["switching_delay"]["decision"] == "conforms"


@pytest.mark.parametrize("text", ["cold", "=run", "cold="])
def test_a_condition_without_its_run_is_refused(complaint, text) -> None:
    assert "give it as NAME=RUN" in complaint("show", "any", "--under", text)


@pytest.mark.long
def test_a_plan_of_parts_with_a_timetable_is_carried_out_and_shown(
    gapsweep, tmp_path
) -> None:
    plan = tmp_path / "hours.toml"
    plan.write_text(
        'title = "Repeat accuracy"\nsweeps = 1\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel"]\nparts = ["S-1", "S-2"]\n[run.timetable]\nhours = 0.05\n'
        "readings = 9\n"
    )

    carried_out = gapsweep("run", plan, "--rig", "sim://?seed=4", "--json").document

    assert [run["part"] for run in carried_out["runs"]] == ["S-1", "S-2"]
    for run in carried_out["runs"]:
        shown = gapsweep("show", run["run_id"], "--json").document
        test = shown["eight_hour_test"]
        assert test["hours"] == pytest.approx(0.05, abs=0.002)
        assert (test["complete"], test["kind"]) == (
            False,
            "timetable, not the 8 h test",
        )
        text = gapsweep("show", run["run_id"]).out
        assert "not the 8 h test of the standard: the readings span 0.05" in text


@pytest.mark.long
def test_a_run_beside_another_of_the_part_is_shown_in_either_order(
    gapsweep, measured
) -> None:
    first, second = (measured("S-9", sweeps=5)["run_id"] for _ in range(2))

    shown = gapsweep("show", first, "--beside", second)
    turned = gapsweep("show", second, "--beside", first, "--json")

    assert shown.status == turned.status == 0
    assert shown.out.startswith("SIMULATED")
    assert turned.document["document"] == "run-comparison"
    assert turned.document["earlier"]["run_id"] == first
    assert turned.document["later"]["run_id"] == second
    assert turned.document["part"] == "S-9"
    for one in turned.document["figures"]:
        later, earlier = one["later"]["value"], one["earlier"]["value"]
        assert one["difference"]["value"] == pytest.approx(later - earlier)


@pytest.mark.long
def test_a_run_goes_beside_no_other_part_and_with_no_other_question(
    gapsweep, measured
) -> None:
    first, other = measured("S-9")["run_id"], measured("S-10")["run_id"]

    another = gapsweep("show", first, "--beside", other)
    itself = gapsweep("show", first, "--beside", first)
    twofold = gapsweep("show", first, "--beside", other, "--against", other)

    assert another.status == itself.status == twofold.status == 2
    assert "is of level-18 S-10 against steel" in another.err
    assert "two runs of one part on one target" in another.err
    assert f"run {first} is named twice" in itself.err
    assert "--beside does not go with --against, --under or --rule" in twofold.err


@pytest.mark.long
def test_the_budget_of_a_reduction_factor_is_shown_with_what_it_leaves_out(
    gapsweep, measured
) -> None:
    steel, pvc = measured("S-11"), measured("S-11", target="pvc")

    shown = gapsweep("show", pvc["run_id"], "--against", steel["run_id"]).out

    budget = shown.partition("budget: reduction factor")[2]
    assert "touch probe, offset (assumed)" in budget
    assert "repeatability, pvc" in budget
    assert "Not included:" in budget
