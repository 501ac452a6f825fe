"""Letting go of a rig takes the current of its motor away."""

from __future__ import annotations

from pathlib import Path

from rig.link.link import watch_nothing
from rig.model.settings import BenchSettings
from rig.tui.rig.rig_access import RigAccess


def test_a_rig_that_is_let_go_of_has_no_current(tmp_path: Path) -> None:
    access = RigAccess(
        lambda _: None,
        watcher=watch_nothing,
        records=str(tmp_path / "records.sqlite"),
        settings=BenchSettings(),
    )
    access.connect("sim://?seed=3")
    rig = access._rig
    rig.mover.make_ready()
    rig.mover.home(10.0)
    orders = rig.simulation._controller._orders
    assert orders.enabled

    access.connect("sim://?seed=4")

    assert not orders.enabled
    access.close()
