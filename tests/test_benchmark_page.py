"""The page of figures: medians with their spread, and nothing to fetch or obey."""

from __future__ import annotations

from html.parser import HTMLParser

from tests.benchmarks.page import Ran, page, surroundings
from tests.benchmarks.registry import Claim, Comparison, Report, Table

KNOWN = {"date": "2026-11-25 12:00 UTC", "revision": "0123456789ab"}


def report(took_s: float, *, met: bool = True) -> Report:
    return Report(
        tables=(
            Table(
                title="one <way>",
                columns=("what", "s", "runs", "ends"),
                rows=(("sweep", took_s, 10, True), ("none", None, 0, False)),
            ),
        ),
        claims=(Claim(claim="below 1 s", measured=f"{took_s} s", met=met),),
        comparisons=(Comparison(what="a sweep", beside="the floor", ratio=took_s),),
        notes=("Noted & kept.",),
    )


def ran(*reports: Report) -> Ran:
    return Ran(name="sweeps", title="a title", reports=reports, seconds=3.0)


class Words(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.addresses: list[str] = []
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.words += data.split()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.addresses += [str(v) for k, v in attrs if k in ("src", "href")]


def said(text: str) -> str:
    return " ".join(Words(text).words)


def test_several_times_give_a_median_and_half_their_range() -> None:
    made = page([ran(report(0.2), report(0.8), report(0.3))], KNOWN)

    assert "sweep 0.3 ±0.3 10 yes none – 0 NO" in said(made)
    assert "a sweep the floor 0.3 ±0.3" in said(made)


def test_one_time_stands_without_a_spread() -> None:
    assert "±" not in page([ran(report(0.2))], KNOWN)


def test_a_claim_that_failed_once_is_not_met() -> None:
    made = said(page([ran(report(0.2), report(1.4, met=False))], KNOWN))

    assert "below 1 s 1.4 s NOT MET (1 of 2)" in made


def test_what_is_on_the_page_is_text_and_nothing_is_fetched() -> None:
    made = page([ran(report(0.2))], KNOWN)

    assert "one <way>" in said(made)
    assert "Noted & kept." in said(made)
    assert Words(made).addresses == []


def test_the_page_says_when_where_and_of_what() -> None:
    known = surroundings(3)

    assert set(known) == {
        *("date", "revision", "machine", "Python"),
        *("load when it began", "each was run"),
    }
    assert known["each was run"] == "3 times"
    assert all(value in said(page([], known)) for value in known.values())
