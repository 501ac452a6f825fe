"""A product over its lots: what counts, what is charted, what is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rig.analysis.acceptance.sequential import guidance
from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.errors import InputError
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.supplier_history import history_of
from rig.records.lot_entries import LotEntry, LotPart, StoredDecision, Withdrawal
from rig.sheets.history_sheet import history_sheet

BEGUN = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
SIZE, SAMPLE = 90, 13  # code letter E: ISO 2859-1, from memory
FAILS = "does not conform"
ONE_LIMIT = "s_r, n = 10: (6.9 ± 0.1) mm does not conform against 7.2 to 8.8 mm (x)"
TWO_LIMITS = f"{ONE_LIMIT}; H, n = 10: (30 ± 1) % does not conform against at most 20 %"


def part(number: int, decision: str = "conforms", reason: str = "", value=None):
    return LotPart(
        part=f"P{number}",
        decision=decision,
        reason=reason or "looks well",
        value=value,
        expanded_uncertainty=None if value is None else 0.02,
        unit="" if value is None else "mm",
        run_id="",
        simulated=False,
        entered_at=BEGUN + timedelta(minutes=number),
    )


def lot(
    week: int,
    parts: list[LotPart],
    *,
    accepted: bool | None = True,
    product: str = "CL-18-8",
    supplier: str = "Baltic Sensors",
    figure: str = "operate",
) -> LotStanding:
    terms = LotTerms(
        method="attributes",
        size=SIZE,
        level="II",
        severity="normal",
        aql_percent=6.5,
        sample=None,
        figure=figure,
        lower=None,
        upper=None,
        rule="guarded",
    )
    begun = BEGUN + timedelta(weeks=week)
    decision = None
    if accepted is not None:
        decision = StoredDecision(
            lot_id=f"lot-{week:02d}",
            accepted=accepted,
            sentence="decided",
            document={},
            simulated=False,
            decided_at=begun,
        )
    return LotStanding(
        lot=LotEntry(
            lot_id=f"lot-{week:02d}",
            product=product,
            supplier=supplier,
            size=SIZE,
            terms={"method": "attributes"},
            resubmitted=False,
            operator="",
            begun_at=begun,
        ),
        terms=terms,
        parts=tuple(parts),
        guidance=guidance(terms.attribute_plan(), measured=len(parts), nonconforming=0),
        decision=decision,
        state=SwitchingState(),
    )


def sample(failing: int, reason: str = ONE_LIMIT, mean: float | None = None):
    return [
        part(
            k,
            FAILS if k <= failing else "conforms",
            reason if k <= failing else "",
            mean,
        )
        for k in range(1, SAMPLE + 1)
    ]


def test_lots_are_grouped_by_supplier_however_the_name_is_spelled() -> None:
    standings = [
        lot(1, sample(0)),
        lot(2, sample(1), supplier="baltic  sensors "),
        lot(3, sample(2), supplier="Kestrel"),
        lot(4, sample(0), product="GATE-8"),
        lot(5, sample(3), supplier="BALTIC SENSORS", product="cl-18-8"),
    ]

    found = history_of(standings, "CL-18-8")

    assert [(one.supplier, len(one.lots)) for one in found.suppliers] == [
        ("BALTIC SENSORS", 3),
        ("Kestrel", 1),
    ]
    assert [one.failing for one in found.suppliers[0].lots] == [0, 1, 3]
    (only,) = history_of(standings, "CL-18-8", supplier="kestrel").suppliers
    assert only.lots[0].lot_id == "lot-03"


def test_the_chart_of_shares_has_the_limits_of_the_formula() -> None:
    counts = [1, 0, 2, 1, 0, 1, 9]
    standings = [lot(k, sample(n), accepted=n < 3) for k, n in enumerate(counts)]

    (one,) = history_of(standings, "CL-18-8").suppliers

    p = sum(counts) / (SAMPLE * len(counts))
    sigma = (p * (1 - p) / SAMPLE) ** 0.5
    assert one.shares is not None
    assert one.shares.centre == pytest.approx(p)
    assert one.shares.upper[0] == pytest.approx(p + 3 * sigma)
    assert [s.at for s in one.shares.signals if "3 sigma" in s.rule] == [6]
    assert one.failures is None  # no part fails more than one limit
    assert any("less than 5 failing parts" in said for said in one.statements)


def test_a_part_that_fails_two_limits_counts_twice_in_the_chart_of_rates() -> None:
    standings = [lot(k, sample(n, TWO_LIMITS)) for k, n in enumerate((1, 2, 0))]

    (one,) = history_of(standings, "CL-18-8").suppliers

    assert [d.failures for d in one.lots] == [2, 4, 0]
    assert one.failures is not None
    assert one.failures.centre == pytest.approx(6 / (3 * SAMPLE))


def test_a_rising_share_is_told_as_a_trend() -> None:
    standings = [lot(k, sample(k), accepted=k < 3) for k in range(8)]

    (one,) = history_of(standings, "CL-18-8").suppliers

    assert one.trend_of_shares is not None
    assert one.trend_of_shares.statistic == 28  # all pairs of 8
    assert one.trend_of_shares.p == pytest.approx(2 / 40320)
    assert one.trend_of_shares.slope == pytest.approx(1 / SAMPLE)
    (sheet,) = history_sheet(history_of(standings, "CL-18-8")).suppliers
    assert sheet.trends[0].startswith("Trend of the share of parts that fail: rises")
    assert "median slope 7.69 % a lot" in sheet.trends[0]


def test_means_of_another_figure_are_left_out_and_told_of() -> None:
    other = "differential-travel"
    standings = [
        lot(0, sample(0, mean=1.5), figure=other),
        *(lot(k, sample(0, mean=8.0 + 0.01 * k)) for k in range(1, 6)),
    ]

    (one,) = history_of(standings, "CL-18-8").suppliers

    assert one.charted_means == (1, 2, 3, 4, 5)
    assert one.means is not None
    assert one.means.location.centre == pytest.approx(8.03)
    # Mean moving range 0.01, d2 = 1.128: NIST/SEMATECH e-Handbook, 6.3.2.2
    assert one.means.location.upper == pytest.approx(8.03 + 3 * 0.01 / 1.128, abs=1e-5)
    assert any("keep another figure or unit: 1 lot." in said for said in one.statements)


def test_what_leans_or_is_open_is_said() -> None:
    early = lot(0, sample(3)[:5], accepted=False)
    undecided = lot(1, [part(1, "undecided"), *sample(0)[1:]], accepted=None)

    (one,) = history_of([early, undecided], "CL-18-8").suppliers
    (sheet,) = history_sheet(history_of([early, undecided], "CL-18-8")).suppliers

    told = " ".join(one.statements)
    assert "1 of 2 lots were decided before the whole sample" in told
    assert "1 undecided parts are not counted as failing" in told
    assert "There is no control chart: 3 inspected lots are needed" in told
    assert "0 accepted, 1 not accepted, 1 not decided" in sheet.lead
    assert "3 of 18 inspected parts do not conform (16.7 %)" in sheet.lead
    assert [row.decision for row in sheet.rows] == ["✗ not accepted", "? not decided"]


def test_a_lot_without_parts_is_listed_and_not_charted() -> None:
    standings = [lot(k, sample(1)) for k in range(3)]
    standings.insert(1, replace(lot(9, []), decision=None))

    (one,) = history_of(standings, "CL-18-8").suppliers

    assert len(one.lots) == 4
    assert one.charted == (0, 2, 3)


def test_a_lot_that_was_withdrawn_is_left_out() -> None:
    mistake = Withdrawal(person="Kim", authority="", reason="wrong box", at=BEGUN)
    standings = [lot(1, sample(0)), replace(lot(2, sample(9)), withdrawal=mistake)]

    (one,) = history_of(standings, "CL-18-8").suppliers

    assert [d.lot_id for d in one.lots] == ["lot-01"]


def test_a_part_that_failed_before_it_conformed_is_told_of() -> None:
    last = sample(0)
    again = replace(lot(1, last), readings=(part(4, FAILS, ONE_LIMIT), *last))

    (one,) = history_of([again], "CL-18-8").suppliers

    assert one.lots[0].failing == 0
    assert one.lots[0].no_longer_failing == 1
    assert any("1 parts failed first" in said for said in one.statements)


def test_a_product_or_supplier_that_is_not_on_record_names_those_that_are() -> None:
    standings = [lot(1, sample(0))]

    with pytest.raises(InputError, match="no lot of 'GATE-8'") as refused:
        history_of(standings, "GATE-8")
    assert refused.value.hint == "on record: CL-18-8 from Baltic Sensors"
    with pytest.raises(InputError, match="from 'Kestrel' is on record"):
        history_of(standings, "CL-18-8", supplier="Kestrel")
