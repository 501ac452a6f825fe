"""`gapsweep hand`: people's readings and predictions beside a simulated run."""

from __future__ import annotations

import pytest

ADD = ("--sensor", "level-18", "--target", "steel", "--part", "P1")
# Ann reads a millimetre too far, Bob about right; both invented
ANN, BOB = (1.0, 1.1, 0.9, 1.0), (0.1, -0.1, 0.0, 0.0)


@pytest.fixture
def entered(gapsweep, table, measured):
    """Measure a part, enter what two people read of it, and return the run."""
    run = measured("P1", sweeps=8)
    middle = run["operate_mm"]["value"]
    readings = [("Ann", middle + off) for off in ANN]
    readings += [("Bob", middle + off) for off in BOB]
    outcome = gapsweep("hand", "add", table("c.csv", "person,value_mm", readings), *ADD)
    assert outcome.status == 0, outcome.err
    return run


def test_bias_spread_and_growth_stand_beside_the_rig(gapsweep, entered) -> None:
    run = entered

    document = gapsweep("hand", "compare", run["run_id"], "--json").document

    ann, bob = document["people"]
    assert (ann["person"], ann["n"]) == ("Ann", 4)
    assert ann["bias"]["value"] == pytest.approx(1.0)
    assert ann["biased"]
    assert not bob["biased"]
    assert ann["spread_ratio"] > 5
    assert document["between_people"]["p"] < 0.001
    growth = document["growth_of_knowledge"]
    assert [len(growth[name]["n"]) for name in ("Ann", "Bob", "rig")] == [3, 3, 7]
    assert growth["rig"]["half_width"][-1] < growth["Ann"]["half_width"][-1]


@pytest.mark.usefixtures("entered")
def test_readings_of_another_part_are_not_taken(complaint, measured) -> None:
    run = measured("P2")

    told = complaint("hand", "compare", run["run_id"])

    assert "nobody's reading of level-18 P2 against steel is on record" in told


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([("Ann", "")], "'value_mm' is empty"),
        ([("Ann", "nine")], "'value_mm' is 'nine', not a number"),
        ([("", 9.0)], "the cell in column 'person' is empty"),
    ],
)
def test_wrong_readings_get_one_sentence(complaint, table, rows, words) -> None:
    path = table("c.csv", "person,value_mm", rows)

    assert words in complaint("hand", "add", path, *ADD)


def test_one_reading_of_a_person_shows_no_spread(complaint, gapsweep, measured, table):
    gapsweep("hand", "add", table("c.csv", "person,value_mm", [("Ann", 9)]), *ADD)

    told = complaint("hand", "compare", measured("P1")["run_id"])

    assert "readings of Ann: 1 given, at least 2 needed" in told


def test_a_sensor_that_is_not_in_the_catalogue_is_refused(complaint, table) -> None:
    path = table("c.csv", "person,value_mm", [("Ann", 9.0)])

    told = complaint("hand", "add", path, "--sensor", "levl-18", "--target", "steel")

    assert "did you mean 'level-18'?" in told


@pytest.mark.long
def test_measured_stands_beside_predicted(gapsweep, measured) -> None:
    runs = [measured("", target=target) for target in ("pvc", "glass", "water")]

    document = gapsweep(
        *("hand", "predict", *(run["run_id"] for run in runs), "--json"),
        *("--property", "pvc=2.8:3.4"),
    ).document

    pvc, glass = document["deviations"]
    (water,) = document["not_comparable"]
    assert pvc["material"] == "pvc"
    assert pvc["measured_mm"] == runs[0]["operate_mm"]["value"]
    low, high = pvc["predicted_range_mm"]
    assert low < pvc["predicted_mm"] < high
    assert pvc["deviation_mm"] == pytest.approx(
        pvc["measured_mm"] - pvc["predicted_mm"]
    )
    # Both curves are for a plate as thick as the one that was measured
    assert (pvc["thickness_mm"], glass["thickness_mm"]) == (3.0, 4.0)
    assert pvc["agrees"]
    assert glass["agrees"]
    assert glass["predicted_mm"] > pvc["predicted_mm"]
    assert "behind a wall" in water["reason"]


def test_what_tables_say_needs_no_property(gapsweep, measured) -> None:
    run = measured("P1", target="pvc")

    by_table, given = (
        gapsweep("hand", "predict", run["run_id"], "--json", *options).document
        for options in ((), ("--property", "pvc=3.0:3.5"))
    )

    assert by_table == given


def test_a_target_that_theory_knows_nothing_of_is_not_comparable(
    gapsweep, measured
) -> None:
    run = measured("P1")

    outcome = gapsweep("hand", "predict", run["run_id"])

    assert outcome.status == 0
    assert "not comparable: it is earthed metal" in outcome.out
    assert "agree" not in outcome.out


def test_a_curve_of_ones_own_is_taken_as_it_stands(gapsweep, measured, table) -> None:
    run = measured("P1", target="pvc")
    path = table("mine.csv", "relative_permittivity,operate_mm", [(1, 1), (100, 9)])

    document = gapsweep(
        *("hand", "predict", run["run_id"], "--json"),
        *("--curve", path, "--property", "pvc=10"),
    ).document

    (pvc,) = document["deviations"]
    assert pvc["predicted_mm"] == pytest.approx(5.0)
    assert pvc["agrees"] is False


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--property", "pcv=3"), "no run is against 'pcv'"),
        (("--property", "pvc=much"), "--property pvc is 'much', not a number"),
        (("--property", "pvc=0.1"), "lies outside the predicted"),
    ],
)
def test_a_property_that_is_of_no_use_is_refused(
    complaint, measured, options, words
) -> None:
    run = measured("P1", target="pvc")

    assert words in complaint("hand", "predict", run["run_id"], *options)
