"""Nothing is lost or doubled on the way to a server that is killed meanwhile."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.campaigns.handing_in import HandingInTally, hand_in_through_kills
from tests.database_server import DatabaseServer


def _assert_once(tally: HandingInTally, sweeps: int, kills: int) -> None:
    assert tally.written == tally.there == tally.distinct == sweeps
    assert (tally.lost, tally.doubled, tally.again) == (0, 0, 0)
    assert tally.kills == kills
    assert tally.failed >= kills
    assert tally.intact == tally.benches


@pytest.mark.long
def test_two_benches_through_two_kills(
    database_server: DatabaseServer, tmp_path: Path
) -> None:
    tally = hand_in_through_kills(
        database_server, tmp_path, benches=2, sweeps=100, kills=2
    )

    _assert_once(tally, 200, 2)


@pytest.mark.long
@pytest.mark.whole_campaign
def test_eight_benches_of_a_thousand_sweeps_through_three_kills(
    database_server: DatabaseServer, tmp_path: Path
) -> None:
    tally = hand_in_through_kills(
        database_server, tmp_path, benches=8, sweeps=1000, kills=3
    )

    _assert_once(tally, 8000, 3)
