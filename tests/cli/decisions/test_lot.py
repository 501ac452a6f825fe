"""`gapsweep lot`: lots inspected, decided, and what the next lot is held to."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest


def begun(gapsweep: Callable[..., Any], *options: object) -> str:
    """Begin a lot; a later option of the same name replaces an earlier one."""
    outcome = gapsweep(
        *("lot", "begin", "--product", "level-18", "--supplier", "one", "--size", 90),
        *("--aql", 6.5, "--json", *options),
    )
    assert outcome.status == 0, outcome.err
    return str(outcome.document["lot_id"])


def looked_at(
    gapsweep: Callable[..., Any], lot: str, part: int, *, right: bool
) -> dict[str, Any]:
    seen = ("--conforms",) if right else ("--fails",)
    outcome = gapsweep(
        "lot", "part", lot, f"P{part}", *seen, "--reason", "thread seen", "--json"
    )
    assert outcome.status == (0 if right else 1), outcome.err
    found: dict[str, Any] = outcome.document
    return found


def accepted(gapsweep: Callable[..., Any], *, right: bool, **more: Any) -> Any:
    """Inspect a whole lot by eye, as good or as bad as it can be, and decide."""
    lot = begun(gapsweep, *more.get("begin", ()))
    sample = gapsweep("lot", "show", lot, "--json").document["sample"]
    for part in range(sample):
        found = looked_at(gapsweep, lot, part, right=right)
        if found["guidance"]["outlook"] != "open":
            break
    return gapsweep("lot", "decide", lot, "--json", *more.get("decide", ()))


@pytest.mark.long
def test_a_small_delivery_is_measured_and_decided(gapsweep) -> None:
    # Lot of 8, level II: letter A, by the arrow sample 2, Ac 0 (MIL-STD-105E, two
    # public packages agree)
    lot = begun(gapsweep, "--size", 8)
    states = []

    for seed in (1, 2):
        outcome = gapsweep(
            *("lot", "part", lot, f"P{seed}", "--rig", f"sim://?seed={seed}"),
            *("--target", "steel", "--sweeps", 5, "--json"),
        )
        assert outcome.status == 0, outcome.err
        states.append(outcome.document["guidance"]["outlook"])
    decided = gapsweep("lot", "decide", lot, "--json")

    assert states == ["open", "will be accepted"]
    assert decided.status == 0
    document = decided.document
    assert document["simulated"]
    assert document["accepted"]
    assert document["counts"]["conforms"] == 2
    assert "Ac 0, Re 1" in document["sentence"]
    shown = gapsweep("lot", "show", lot, "--json").document
    for part in shown["parts"]:
        assert part["simulated"]
        run = gapsweep("show", part["run_id"], "--json").document
        assert run["part"] == part["part"]
        assert run["operate_mm"]["value"] == part["value"]


@pytest.mark.long
def test_a_bad_part_stops_a_plan_that_admits_none(gapsweep) -> None:
    lot = begun(gapsweep, "--size", 8)

    part = gapsweep(
        *("lot", "part", lot, "P1", "--rig", "sim://?seed=1&sensitivity=1.5"),
        *("--target", "steel", "--sweeps", 5),
    )
    decided = gapsweep("lot", "decide", lot)

    assert part.status == 1
    assert "does not conform" in part.out
    assert "Stop: the lot will not be accepted" in part.out
    assert decided.status == 1
    assert "not accepted after 1 of 2 parts" in decided.out


def test_guidance_counts_what_may_still_fail(gapsweep) -> None:
    # Lot of 90, letter E: sample 13, Ac 2, Re 3 at 6.5 %
    lot = begun(gapsweep)

    guides = [
        looked_at(gapsweep, lot, part, right=part >= 2)["guidance"] for part in range(4)
    ]

    assert [one["may_still_fail"] for one in guides] == [1, 0, 0, 0]
    assert [one["remaining"] for one in guides] == [12, 11, 10, 9]
    assert {one["outlook"] for one in guides} == {"open"}


def test_an_open_lot_is_not_decided(gapsweep, complaint) -> None:
    lot = begun(gapsweep)
    looked_at(gapsweep, lot, 1, right=True)

    told = complaint("lot", "decide", lot)

    assert "the decision is open: go on: 12 parts to go" in told


def test_an_undecided_part_is_measured_again_or_counted_as_agreed(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep, "--size", 8, "--upper", 8.0)
    undecided = gapsweep(
        "lot", "part", lot, "P1", "--value", 7.99, "--uncertainty", 0.05, "--json"
    )
    gapsweep("lot", "part", lot, "P2", "--value", 7.9, "--uncertainty", 0.05)

    assert undecided.document["part"]["decision"] == "undecided"
    assert undecided.status == 0
    assert (
        "all 2 parts measured, 1 undecided: not accepted with 1 more nonconforming;"
        " measure these again with more sweeps"
    ) in complaint("lot", "decide", lot)
    gapsweep("lot", "part", lot, "P1", "--value", 7.99, "--uncertainty", 0.005)
    decided = gapsweep("lot", "decide", lot, "--json")
    assert decided.document["counts"] == {
        "conforms": 2,
        "does not conform": 0,
        "undecided": 0,
    }
    readings = gapsweep("lot", "show", lot, "--json").document["readings"]
    assert [one["decision"] for one in readings] == [
        "undecided",
        "conforms",
        "conforms",
    ]


def test_undecided_parts_count_as_nonconforming_where_that_was_agreed(gapsweep) -> None:
    lot = begun(gapsweep, "--size", 8, "--upper", 8.0)
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--value", 7.99, "--uncertainty", 0.05)

    decided = gapsweep("lot", "decide", lot, "--count-undecided", "--json")

    assert decided.status == 1
    assert decided.document["undecided_counted_as_nonconforming"]


@pytest.mark.long
def test_two_of_five_lots_tighten_and_five_good_ones_relax(gapsweep) -> None:
    small = {"begin": ("--size", 8)}
    for right in (True, False, False):
        accepted(gapsweep, right=right, **small)
    tightened = gapsweep(
        "lot", "state", "--product", "level-18", "--supplier", "one", "--json"
    ).document
    for _ in range(5):
        decided = accepted(gapsweep, right=True, **small)
        assert decided.document["plan"]["severity"] == "tightened"
    state = gapsweep(
        "lot", "state", "--product", "level-18", "--supplier", "one", "--json"
    ).document

    assert tightened["severity"] == "tightened"
    assert "2 of the last 3 lots not accepted" in tightened["reason"]
    assert state["severity"] == "normal"
    other = gapsweep(
        "lot", "state", "--product", "level-18", "--supplier", "two", "--json"
    ).document
    assert other["lots"] == 0


@pytest.mark.long
def test_five_bad_lots_on_tightened_inspection_end_it_until_something_is_done(
    gapsweep, complaint
) -> None:
    small = {"begin": ("--size", 8)}
    for _ in range(7):
        accepted(gapsweep, right=False, **small)

    told = complaint(
        *("lot", "begin", "--product", "level-18", "--supplier", "one"),
        *("--size", 90, "--aql", 6.5),
    )
    gapsweep(
        *("lot", "state", "--product", "level-18", "--supplier", "one"),
        *("--resume", "new coil winder"),
    )
    decided = accepted(gapsweep, right=True, **small)

    assert "inspection of level-18 is discontinued" in told
    assert decided.document["plan"]["severity"] == "tightened"


@pytest.mark.long
def test_a_sample_that_stopped_early_gains_no_points(gapsweep) -> None:
    early = accepted(gapsweep, right=True).document

    assert early["decision"]["inspected"] == 11
    # Every part not measured counts as bad towards reduced inspection
    assert early["switching_state"]["score"] == 0


@pytest.mark.long
@pytest.mark.parametrize(
    ("option", "severity"), [("--steady", "reduced"), ("", "normal")]
)
def test_thirty_points_lead_to_reduced_inspection_of_a_steady_supplier(
    gapsweep, option, severity
) -> None:
    more = (option,) if option else ()
    # Ac 0: 2 points a lot
    for _ in range(15):
        decided = accepted(gapsweep, right=True, begin=("--size", 8), decide=more)

    state = decided.document["switching_state"]
    assert state["severity"] == severity


@pytest.mark.long
def test_a_resubmitted_lot_does_not_count(gapsweep) -> None:
    for _ in range(3):
        accepted(gapsweep, right=False, begin=("--resubmitted",))

    state = gapsweep(
        "lot", "state", "--product", "level-18", "--supplier", "one", "--json"
    ).document

    assert (state["severity"], state["lots"]) == ("normal", 0)


@pytest.mark.long
def test_a_lot_is_judged_by_variables(gapsweep) -> None:
    # Z1.9 and MIL-STD-414, table B-1: n 5, AQL 4 %
    lot = begun(
        *(gapsweep, "--method", "variables", "--sample", 5, "--aql", 4.0),
        *("--lower", 7.9, "--upper", 8.1),
    )
    for part, value in enumerate((8.00, 8.02, 7.98, 8.01, 7.99)):
        gapsweep(
            "lot", "part", lot, f"P{part}", "--value", value, "--uncertainty", 0.01
        )

    decided = gapsweep("lot", "decide", lot, "--json")

    assert decided.status == 0
    found = decided.document["decision"]
    assert found["mean"] == pytest.approx(8.0)
    # sqrt(0.0010/4) of the five
    assert found["sd"] == pytest.approx(0.0158114, abs=1e-7)
    assert found["upper_quality"] == pytest.approx(0.1 / 0.0158114, rel=1e-5)


def test_the_curve_of_a_known_plan(gapsweep) -> None:
    document = gapsweep("lot", "curve", "--size", 1000, "--aql", 1.0, "--json").document

    # Letter J: n 80, Ac 2 (MIL-STD-105E)
    assert (document["plan"]["sample"], document["plan"]["accept"]) == (80, 2)
    points = dict(zip(document["shares"], document["acceptance"], strict=True))
    nearest = min(points, key=lambda share: abs(share - 0.01))
    # At 1 % the binomial gives 0.9534; the lot itself differs a little, as the share
    assert points[nearest] == pytest.approx(0.9534, abs=0.02)
    assert document["model"] == "hypergeometric"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--size", 1), "a lot of 1 is not sampled"),
        (("--size", 90, "--aql", 3), "AQL of 3 % is not in the table"),
        (
            ("--method", "variables"),
            "by variables a lot needs --lower, --upper or both",
        ),
        (
            ("--method", "variables", "--level", "S-1", "--lower", 7),
            "inspection level 'S-1' is not one of the s method",
        ),
        (
            ("--method", "variables", "--sample", 20, "--size", 8, "--lower", 7),
            "the lot of 8 is smaller than the sample of 20",
        ),
        (("--lower", 8, "--upper", 7), "lower limit 8 is not below the upper 7"),
        (("--sample", 5), "--sample goes with --method variables only"),
    ],
)
def test_terms_that_cannot_be_are_refused(complaint, options, words) -> None:
    told = complaint(
        *("lot", "begin", "--product", "level-18", "--size", 90, "--aql", 1.0),
        *options,
    )

    assert words in told


def test_a_lot_smaller_than_the_sample_is_inspected_whole(gapsweep) -> None:
    # Letter B by level II, sample 3 without its arrow; 0.65 % leads on to 20
    begun_text = gapsweep(
        "lot", "begin", "--product", "level-18", "--size", 10, "--aql", 0.65
    ).out

    assert "inspect 10 parts" in begun_text
    assert "the lot has 10: inspect them all" in begun_text


def test_parts_are_inspected_in_one_way_and_within_the_sample(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep, "--size", 8)

    assert "give one of --rig" in complaint("lot", "part", lot, "P1")
    assert "--reason is missing" in complaint("lot", "part", lot, "P1", "--fails")
    assert "no limits of its own" in complaint("lot", "part", lot, "P1", "--value", 8)
    looked_at(gapsweep, lot, 1, right=True)
    looked_at(gapsweep, lot, 2, right=True)
    told = complaint("lot", "part", lot, "P3", "--conforms", "--reason", "seen")
    assert "the sample of 2 parts is complete" in told
    gapsweep("lot", "decide", lot)
    told = complaint("lot", "part", lot, "P1", "--fails", "--reason", "seen")
    assert "is decided and takes no further part" in told
    assert "decided already" in complaint("lot", "decide", lot)


def test_a_lot_that_is_not_on_record_leaves_with_status_4(gapsweep) -> None:
    begun(gapsweep)

    outcome = gapsweep("lot", "show", "nothing")

    assert outcome.status == 4
    assert "no lot nothing is in the records" in outcome.err


@pytest.mark.long
def test_the_parts_of_a_lot_are_a_batch(gapsweep) -> None:
    lot = begun(gapsweep, "--size", 8)
    for seed in (1, 2):
        gapsweep(
            *("lot", "part", lot, f"P{seed}", "--rig", f"sim://?seed={seed}"),
            *("--target", "steel", "--sweeps", 5),
        )

    document = gapsweep("batch", "--lot", lot, "--json").document

    (batch,) = document["batches"].values()
    assert [row["part"] for row in batch["summary"]["rows"]] == ["P1", "P2"]


BY_VARIABLES = ("--method", "variables", "--aql", 1.0, "--lower", 8, "--upper", 10)


def measured_by_hand(
    gapsweep, lot: str, *, mean: float, uncertainty: float | None
) -> None:
    sample = gapsweep("lot", "show", lot, "--json").document["sample"]
    for part in range(sample):
        value = mean + 0.01 * (part % 5 - 2)
        extra = () if uncertainty is None else ("--uncertainty", uncertainty)
        outcome = gapsweep("lot", "part", lot, f"V{part}", "--value", value, *extra)
        assert outcome.status in (0, 1), outcome.err


def test_parts_that_are_each_undecided_accept_no_lot_by_variables(
    gapsweep, complaint
) -> None:
    # U of 2 mm on a tolerance of 2 mm
    lot = begun(gapsweep, *BY_VARIABLES, "--sample", 5)
    measured_by_hand(gapsweep, lot, mean=9.03, uncertainty=2.0)

    told = complaint("lot", "decide", lot)
    agreed = gapsweep("lot", "decide", lot, "--count-undecided", "--json")

    assert "the uncertainty leaves the lot open" in told
    assert agreed.status == 1
    assert not agreed.document["accepted"]
    assert agreed.document["decision"]["verdict"] == "undecided"
    assert (
        "not accepted, as an undecided lot is by agreement"
        in (agreed.document["sentence"])
    )


def test_a_lot_by_variables_needs_the_uncertainty_of_every_part(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep, *BY_VARIABLES, "--sample", 5)
    measured_by_hand(gapsweep, lot, mean=9.0, uncertainty=None)

    told = complaint("lot", "decide", lot)

    assert "needs the uncertainty of every part, and V0, V1, V2, V3, V4 have" in told


@pytest.mark.long
def test_the_simple_rule_says_that_it_counts_no_uncertainty(gapsweep) -> None:
    lot = begun(gapsweep, *BY_VARIABLES, "--sample", 5, "--rule", "simple")
    measured_by_hand(gapsweep, lot, mean=9.0, uncertainty=2.0)

    decided = gapsweep("lot", "decide", lot)
    shown = gapsweep("lot", "show", lot)

    for text in (decided.out, shown.out):
        assert "The uncertainty of the values is not counted: simple rule." in text


@pytest.mark.long
def test_refused_lots_by_variables_tighten_the_next(gapsweep) -> None:
    for _ in range(2):
        lot = begun(gapsweep, *BY_VARIABLES, "--sample", 7)
        measured_by_hand(gapsweep, lot, mean=10.5, uncertainty=0.01)
        assert gapsweep("lot", "decide", lot).status == 1

    state = gapsweep(
        "lot", "state", "--product", "level-18", "--supplier", "one", "--json"
    ).document
    lot = begun(gapsweep, *BY_VARIABLES, "--sample", 7)
    plan = gapsweep("lot", "show", lot, "--json").document["plan"]

    assert state["severity"] == "tightened"
    assert "2 of the last 2 lots not accepted" in state["reason"]
    # Table B-1, n 7: k 1.75 at 0.65 % instead of 1.62 at 1.0 %
    assert (plan["severity"], plan["k"]) == ("tightened", 1.75)


@pytest.mark.long
def test_the_level_gives_the_sample_of_a_lot_by_variables(gapsweep) -> None:
    lot = begun(gapsweep, *BY_VARIABLES, "--size", 500)

    plan = gapsweep("lot", "show", lot, "--json").document["plan"]

    # Z1.9-2008, table A-2: 401 to 500 at level II, letter I; table B-1: n 25, k 1.85
    assert (plan["letter"], plan["sample"], plan["k"]) == ("I", 25, 1.85)


@pytest.mark.long
def test_the_curve_as_inspected_stands_beside_the_nominal_one(
    gapsweep, complaint
) -> None:
    plan = ("lot", "curve", "--size", 500, "--aql", 1.0)
    said = ("--common-share", 0, "--rule", "simple", "--failing-again", 2)

    usual, told = gapsweep(*plan, "--json"), gapsweep(*plan, *said)

    found = usual.document["as_inspected"]
    assert found["inspection"]["uncertainty_source"] == "assumed"
    assert found["named"]["accepted"][0] < found["nominal"][0]
    assert "as inspected, %" in told.out
    assert "Measuring failing parts again, at most twice, takes the risk" in told.out
    lot = begun(gapsweep)
    assert "0.25" in gapsweep("lot", "curve", lot).out
    for option, value in (
        ("--rule", "simple"),
        ("--size", 9),
        ("--severity", "normal"),
    ):
        assert f"a lot on record has its own plan: {option}" in complaint(
            "lot", "curve", lot, option, value
        )
    assert "is not from 0 to 1" in complaint(*plan, "--common-share", 2)


# Letter C at AQL 10 %: 3 parts, Ac 0, Re 2; then 3 more, Ac 1, Re 2 (MIL-STD-105E,
# table III-A, from memory)
DOUBLE = ("--size", 25, "--aql", 10, "--sampling", "double")


@pytest.mark.long
def test_a_lot_is_inspected_by_double_sampling(gapsweep, complaint) -> None:
    first, second = begun(gapsweep, *DOUBLE), begun(gapsweep, *DOUBLE)

    for part in range(3):
        last = looked_at(gapsweep, first, part, right=True)
    by_first = gapsweep("lot", "decide", first, "--json")
    for part in range(3):
        found = looked_at(gapsweep, second, part, right=part > 0)
    room = found["sample"], found["guidance"]["sentence"]
    told = complaint("lot", "decide", second)
    for part in range(3, 6):
        looked_at(gapsweep, second, part, right=True)
    by_second = gapsweep("lot", "decide", second, "--json")

    assert last["sample"] == 3
    assert "accepted by the first sample" in by_first.document["sentence"]
    assert room[0] == 6
    assert "second sample: 3 parts to go, 1 nonconforming so far" in room[1]
    assert "the decision is open" in told
    assert by_second.status == 0
    assert (
        "accepted by the second sample: 1 nonconforming of 6, Ac 1, Re 2"
        in (by_second.document["sentence"])
    )
    assert by_second.document["plan"]["sampling"] == "double"


def test_a_first_sample_that_decides_takes_no_second(gapsweep, complaint) -> None:
    lot = begun(gapsweep, *DOUBLE)
    for part in range(3):
        looked_at(gapsweep, lot, part, right=True)

    told = complaint("lot", "part", lot, "P9", "--conforms", "--reason", "thread seen")

    assert "the sample of 3 parts is complete" in told


@pytest.mark.long
def test_undecided_parts_ask_for_the_second_sample_where_that_was_agreed(
    gapsweep,
) -> None:
    lot = begun(gapsweep, *DOUBLE, "--upper", 8.0)
    for part, value in enumerate((7.99, 7.9, 7.9)):
        gapsweep("lot", "part", lot, part, "--value", value, "--uncertainty", 0.05)

    shown = gapsweep("lot", "show", lot, "--json").document

    assert shown["sample"] == 6
    assert (
        "unless what is undecided in the first one conforms"
        in (shown["guidance"]["sentence"])
    )
    for part in range(3, 6):
        gapsweep("lot", "part", lot, part, "--value", 7.5, "--uncertainty", 0.05)
    decided = gapsweep("lot", "decide", lot, "--count-undecided", "--json")
    assert decided.document["decision"]["nonconforming"] == 1
    assert decided.document["accepted"]


def test_the_curve_of_double_sampling_tells_its_average_sample(gapsweep) -> None:
    curve = ("lot", "curve", "--size", 1000, "--aql", 1.0, "--sampling", "double")

    told, document = gapsweep(*curve).out, gapsweep(*curve, "--json").document

    assert "inspect 50 parts: Ac 0, Re 3; in between 50 more: Ac 3, Re 4" in told
    assert "by single sampling 80" in told
    # n1 + n2 times the chance of 1 or 2 of 50 at 1 %: 0.3056 + 0.0756
    assert document["average_sample"]["at_acceptable"] == pytest.approx(
        50 + 50 * (0.3056 + 0.0756), abs=0.02
    )


@pytest.mark.long
def test_a_lot_is_inspected_by_zero_acceptance(gapsweep, complaint) -> None:
    # Lot of 90 at verification level I: letter A, 5 parts (MIL-STD-1916, from memory)
    begin = (
        *("lot", "begin", "--product", "level-18", "--size", 90),
        *("--sampling", "zero"),
    )
    lot = gapsweep(*begin, "--level", "I", "--json").document["lot_id"]

    for part in range(4):
        looked_at(gapsweep, lot, part, right=True)
    failed = looked_at(gapsweep, lot, 4, right=False)
    decided = gapsweep("lot", "decide", lot)
    curve = gapsweep("lot", "curve", lot).out

    assert failed["guidance"]["outlook"] == "will not be accepted"
    assert decided.status == 1
    assert "Ac 0, Re 1 (normal, verification level I)" in decided.out
    assert "MIL-STD-1916 tables I and II (attributes), from memory" in curve
    assert "As inspected" in curve
    assert "zero acceptance needs a verification level" in complaint(*begin)
    assert "zero acceptance has no AQL" in complaint(*begin, "--level", "I", "--aql", 1)
    assert "inspection level 'IV' is unknown" in complaint(
        *begin[:-2], "--aql", 1, "--level", "IV"
    )
    assert "goes with --method attributes only" in complaint(
        *begin[:-1], "double", "--method", "variables", "--aql", 1, "--lower", 7
    )
    assert lot in gapsweep("lot", "show").out


@pytest.mark.long
def test_the_risk_that_repeats_cost_is_said_when_a_lot_is_begun_and_shown(
    gapsweep,
) -> None:
    begin = ("lot", "begin", "--product", "level-18", "--size", 500, "--aql", 1.0)

    twice, never = gapsweep(*begin, "--repeats", 2), gapsweep(*begin, "--repeats", 0)
    lot = begun(gapsweep, "--repeats", 3)
    shown = gapsweep("lot", "show", lot).out

    # n 50, Ac 1: nominally 0.911 at AQL 1 %, and 0.10 at 7.56 % (binomial)
    assert "Accepted of lots 1.00 % nonconforming: 91.1 % nominally" in twice.out
    assert "Of lots 7.56 % nonconforming: 10 % nominally" in twice.out
    assert "with up to 2 repeats of a part" in twice.out
    assert "repeats of a part" not in never.out
    assert (
        "Risk of the repeats: Measuring failing parts again, at most 3 times" in shown
    )


def test_the_curve_of_a_plan_by_variables_that_is_to_come(gapsweep, complaint) -> None:
    plan = ("lot", "curve", "--size", 500, "--aql", 1.0, "--method", "variables")

    document = gapsweep(*plan, "--json").document
    smaller = gapsweep(*plan, "--sample", 10, "--severity", "tightened", "--json")

    # Z1.9-2008, table A-2, level II: letter I; table B-1: n 25, k 1.85; n 10 at 0.65 %
    # instead of 1.0 %: k 1.84
    assert (document["plan"]["sample"], document["plan"]["k"]) == (25, 1.85)
    assert (smaller.document["plan"]["sample"], smaller.document["plan"]["k"]) == (
        *(10, 1.84),
    )
    named, nominal = document["as_inspected"]["named"], document["as_inspected"]
    assert named["accepted"][0] < nominal["nominal"][0]
    assert "--sample goes with --method variables" in complaint(
        *plan[:-2], "--sample", 10
    )
    assert "--sampling goes with --method attributes" in complaint(
        *plan, "--sampling", "double"
    )
    assert "reduced inspection is not offered by variables" in complaint(
        *plan, "--severity", "reduced"
    )
