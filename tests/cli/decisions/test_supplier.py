"""`gapsweep supplier`: lots over time, nonconformities to send."""

from __future__ import annotations

from pathlib import Path

import pytest

LAB = 'name = "Harbour Sensor Laboratory"\naddress = ["12 Mill Road", "Leeds"]\n'


def delivered(
    gapsweep, failing: int, supplier: str = "Baltic", product: str = "level-18"
) -> str:
    """Begin a lot of 8 (n 2, Ac 0, Re 1), judge by sight, decide."""
    begun = gapsweep(
        *("lot", "begin", "--product", product, "--supplier", supplier),
        *("--size", "8", "--aql", "6.5", "--json"),
    )
    assert begun.status == 0, begun.err
    lot_id = begun.document["lot_id"]
    for number in (1, 2):
        seen = ("--fails", "--reason", "thread damaged")
        if number > failing:
            seen = ("--conforms", "--reason", "looks well")
        outcome = gapsweep("lot", "part", lot_id, f"A-{number}", *seen)
        assert outcome.status in (0, 1), outcome.err
    gapsweep("lot", "decide", lot_id)
    return lot_id


def test_the_example_of_the_help_runs(gapsweep) -> None:
    delivered(gapsweep, 0)

    assert gapsweep("supplier", "history", "level-18").status == 0


@pytest.mark.long
def test_history_lists_lots_and_charts_them(gapsweep) -> None:
    lots = [delivered(gapsweep, failing) for failing in (0, 0, 1, 0, 2)]
    other = delivered(gapsweep, 0, supplier="Kestrel")

    document = gapsweep(
        "supplier", "history", "level-18", "--out", "h.html", "--json"
    ).document
    words = gapsweep("supplier", "history", "LEVEL-18", "--supplier", "baltic").out

    baltic, kestrel = document["suppliers"]
    assert [one["lot_id"] for one in baltic["lots"]] == lots
    assert [one["failing"] for one in baltic["lots"]] == [0, 0, 1, 0, 2]
    assert [one["accepted"] for one in baltic["lots"]] == [
        *(True, True, False, True, False)
    ]
    assert baltic["shares"]["centre"] == pytest.approx(3 / 10)
    assert baltic["trend_of_shares"]["n"] == 5
    assert kestrel["shares"] is None
    assert "There is no control chart" in " ".join(kestrel["statements"])
    assert "5 lots: 3 accepted, 2 not accepted, 0 not decided" in words
    assert other not in words
    page = Path("h.html").read_text("utf-8")
    assert "<h1>Lots over time: level-18</h1>" in page
    assert all(lot_id in page for lot_id in (*lots, other))
    assert page.count("<figure>") == 1


@pytest.mark.long
def test_products_are_listed_with_their_suppliers(gapsweep, measured) -> None:
    measured("A-1")
    assert gapsweep("supplier", "list").out == "No lot on record.\n"
    delivered(gapsweep, 0)
    delivered(gapsweep, 1)
    delivered(gapsweep, 0, supplier="Kestrel", product="gate-8")

    found = gapsweep("supplier", "list", "--json").document["products"]
    words = gapsweep("supplier", "list").out

    assert [(one["product"], one["supplier"], one["lots"]) for one in found] == [
        ("gate-8", "Kestrel", 1),
        ("level-18", "Baltic", 2),
    ]
    assert (found[1]["accepted"], found[1]["not_accepted"]) == (1, 1)
    assert "Kestrel" in words


@pytest.mark.long
def test_a_nonconformity_names_value_limit_uncertainty_rule_and_run(
    gapsweep, measured
) -> None:
    Path("lab.toml").write_text(LAB, "utf-8")
    limits = ("--lower", "1", "--upper", "2")
    begun = gapsweep(
        *("lot", "begin", "--product", "level-18", "--supplier", "Baltic"),
        *("--size", "8", "--aql", "6.5", "--json", *limits),
    )
    lot_id = begun.document["lot_id"]
    run_id = measured("A-1", "--temperature", "22.5")["run_id"]
    gapsweep("lot", "part", lot_id, "A-1", "--run", run_id)
    gapsweep("lot", "part", lot_id, "A-2", "--fails", "--reason", "thread damaged")
    gapsweep("lot", "decide", lot_id)

    document = gapsweep("supplier", "nonconformity", lot_id, "--json").document
    outcome = gapsweep(
        *("supplier", "nonconformity", lot_id, "--letterhead", "lab.toml"),
        *("--out", "n.html"),
    )

    assert outcome.status == 0, outcome.err
    first, second = document["parts"]
    assert (first["part"], first["run_id"]) == ("A-1", run_id)
    verdict = first["verdicts"]["operate"]
    assert verdict["decision"] == "does not conform"
    assert (verdict["limits"]["lower"], verdict["limits"]["upper"]) == (1.0, 2.0)
    assert verdict["figure"]["value"] == first["value"]
    assert (second["value"], second["verdicts"]) == (None, {})
    page = Path("n.html").read_text("utf-8")
    for words in (
        *("Harbour Sensor Laboratory", "To: Baltic", run_id, "1 to 2 mm", "22.5 °C"),
        *("guarded acceptance", "thread damaged", "Corrective action", "not accepted"),
    ):
        assert words in page, words
    (issued,) = gapsweep("documents", "--json").document["documents"]
    assert issued["number"].startswith("N-")
    assert issued["number"] in page
    assert (issued["kind"], issued["subject"]) == ("nonconformity", lot_id)
    assert issued["customer"] == "Baltic"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("history", "gate-8"), "no lot of 'gate-8' is on record"),
        (("history", "level-18", "--supplier", "Kestrel"), "from 'Kestrel'"),
        (("nonconformity", "LOT", "--letterhead", "lab.toml"), "no part of the lot"),
        (("nonconformity", "LOT"), "needs --letterhead"),
        (("nonconformity", "LOT", "--json"), "no part of the lot"),
    ],
)
def test_what_cannot_be_had_is_refused(gapsweep, arguments, words) -> None:
    Path("lab.toml").write_text(LAB, "utf-8")
    lot_id = delivered(gapsweep, 0)
    given = [lot_id if one == "LOT" else one for one in arguments]

    refused = gapsweep("supplier", *given)

    assert refused.status == 2
    assert words in refused.err
    assert gapsweep("documents").out == "No document is issued.\n"
