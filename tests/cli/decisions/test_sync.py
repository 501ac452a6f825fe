"""`gapsweep sync`: a bench hands in to a server, and says what waits."""

from __future__ import annotations

from pathlib import Path

import pytest

from rig.records.bench_rights import admit
from tests.database_server import DatabaseServer


@pytest.fixture(scope="module")
def admitted(database_server: DatabaseServer) -> str:
    name = database_server.new_database()
    admit(database_server.url(name), "north-3")
    return name


@pytest.fixture
def url(database_server: DatabaseServer, admitted: str) -> str:
    return database_server.url(database_server.new_database(admitted))


def test_a_bench_hands_in_and_is_read_on_the_server(gapsweep, measured, url) -> None:
    run_id = measured("S-1")["run_id"]

    first = gapsweep("sync", "--server", url, "--bench", "north-3", "--json")
    second = gapsweep("sync")

    assert first.status == 0, first.err
    assert first.document["links_handed_in"] == first.document["last_link"] > 0
    assert "is on the server" in first.err
    assert second.status == 0
    assert "handed in: 0 links" in second.out
    assert "bench north-3: all is handed in" in second.out
    there = f"{url}&bench=north-3"
    shown = gapsweep("show", run_id, "--records", there)
    assert shown.out == gapsweep("show", run_id).out
    verified = gapsweep("verify", "--records", there)
    assert verified.status == 0
    assert verified.out == gapsweep("verify").out


def test_what_waits_stands_in_state_and_results(gapsweep, measured, url) -> None:
    measured("S-1")
    never = gapsweep("sync", "--state", "--json")
    gapsweep("sync", "--server", url, "--bench", "north-3")
    measured("S-2")

    state = gapsweep("sync", "--state")
    listed = gapsweep("results")

    assert never.document["server"] == ""
    assert never.document["runs_waiting"] == 1
    assert "bench north-3: 1 run not handed in" in state.out
    assert "bench north-3: 1 run not handed in" in listed.err


def test_a_bench_measures_on_while_its_server_is_away(
    gapsweep, measured, url, database_server: DatabaseServer
) -> None:
    measured("S-1")
    gapsweep("sync", "--server", url, "--bench", "north-3")
    database_server.kill()
    try:
        measured("S-2")
        outcome = gapsweep("sync")
        state = gapsweep("sync", "--state")
    finally:
        database_server.start()

    assert outcome.status == 4
    assert "cannot be used" in outcome.err
    assert "1 run not handed in" in state.out
    assert "all is handed in" in gapsweep("sync").out


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((), "where is the server"),
        (("--server", "here.sqlite", "--bench", "a"), "this is none"),
        (("--server", "postgresql://me@host/x"), "which bench hands in?"),
        (
            ("--server", "postgresql://me@host/x", "--bench", "A b"),
            "no name of a bench",
        ),
        (("--admit",), "which bench, on which server?"),
        (("--admit", "--state"), "either --state or --admit"),
    ],
)
def test_what_is_missing_or_wrong_is_said(gapsweep, measured, given, said) -> None:
    measured("S-1")

    outcome = gapsweep("sync", *given)

    assert outcome.status == 2
    assert said in outcome.err


def test_a_bench_without_a_place_is_told_who_gives_one(
    gapsweep, measured, database_server: DatabaseServer
) -> None:
    measured("S-1")
    url = database_server.url(database_server.new_database())

    before = gapsweep("sync", "--server", url, "--bench", "east")
    admitted = gapsweep("sync", "--server", url, "--bench", "east", "--admit")
    after = gapsweep("sync", "--server", url, "--bench", "east")

    assert before.status == 4
    assert "its owner admits one by `gapsweep sync --admit`" in before.err
    assert "role" in admitted.out
    assert (admitted.status, after.status) == (0, 0)


def test_records_on_a_server_are_not_handed_in(gapsweep, url) -> None:
    outcome = gapsweep("sync", "--records", f"{url}&bench=north-3", "--state")

    assert outcome.status == 2
    assert "are on a server already" in outcome.err


def test_the_server_may_be_said_by_the_environment(
    gapsweep, measured, url, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    measured("S-1")
    monkeypatch.setenv("GAPSWEEP_SERVER", url)
    monkeypatch.setenv("GAPSWEEP_BENCH", "north-3")

    assert gapsweep("sync").status == 0
    assert list(tmp_path.glob("*-server.json"))
