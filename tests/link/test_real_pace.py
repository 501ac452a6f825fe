"""The simulated rig at the pace of a real one, by a clock that the test holds."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from rig.model.settings import BenchSettings
from rig.wiring import connect

REAL = "sim://?sensor=capacitive&target=steel&seed=7&pace=real"


class Wall:
    """A clock on the wall that stands but for sleep and pauses."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def sleep(self, seconds: float) -> None:
        self.now_s += seconds


@pytest.fixture
def wall(monkeypatch: pytest.MonkeyPatch) -> Wall:
    wall = Wall()
    time = SimpleNamespace(monotonic=lambda: wall.now_s, sleep=wall.sleep)
    monkeypatch.setattr("rig.wiring.time", time)
    return wall


@pytest.mark.parametrize("pause_s", [0.0, 0.2, 300.0])
def test_a_motion_takes_its_time_however_long_nobody_asked_for_one(
    wall: Wall, pause_s: float
) -> None:
    rig = connect(REAL, BenchSettings())
    rig.mover.make_ready()
    rig.mover.home(10.0)

    wall.now_s += pause_s
    before_s, rig_before_s = wall.now_s, rig.mover.link.now_s()
    rig.mover.home(10.0)
    took_s = wall.now_s - before_s
    rig_took_s = rig.mover.link.now_s() - rig_before_s
    rig.close()

    assert rig_took_s > 1
    # All but what a pause of the computer may have held up
    assert took_s == pytest.approx(rig_took_s, abs=0.1)


def test_a_rig_that_is_looked_at_now_and_then_builds_up_no_debt(wall: Wall) -> None:
    rig = connect(REAL, BenchSettings())
    rig.mover.make_ready()
    for _ in range(100):
        wall.now_s += 0.25
        rig.mover.link.look()

    before_s, rig_before_s = wall.now_s, rig.mover.link.now_s()
    rig.mover.home(10.0)
    took_s = wall.now_s - before_s
    rig_took_s = rig.mover.link.now_s() - rig_before_s
    rig.close()

    assert took_s == pytest.approx(rig_took_s, abs=0.1)
