"""What the end-to-end tests share: rigs by name, a run without records."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import RunResult, carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store, open_records
from rig.wiring import Rig, connect, read_sim_name
from sim.options import build
from sim.serve import Server, serve_pty, serve_tcp
from tests.patience import PATIENCE_S

Measure = Callable[..., RunResult]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "measured.sqlite") as store:
        yield store


@pytest.fixture
def measure(store: Store) -> Measure:
    """Touch off and carry out a run on a rig given by name; the rig is closed."""

    def measure(
        name: str,
        sensor: str,
        target: str,
        *,
        sweeps: int = 6,
        speeds_mm_s: tuple[float, ...] = (1.0, 4.0),
        settings: BenchSettings | None = None,
        mount: bool = False,
    ) -> RunResult:
        chosen = settings or BenchSettings()
        catalogue = load_catalogue()
        rig: Rig = connect(name, chosen)
        order = RunOrder(
            sensor=catalogue.sensor(sensor),
            target=catalogue.target(target),
            sweeps=sweeps,
            speeds_mm_s=speeds_mm_s,
        )
        try:
            if mount:
                assert rig.simulation is not None
                rig.simulation.mount(order.sensor, order.target)
            context = RunContext.on(rig.mover, chosen, store, lambda _: None)
            return carry_out_run(context.touch_off(), order, context)
        finally:
            rig.close()

    return measure


@pytest.fixture
def serve() -> Iterator[Callable[..., str]]:
    """Serve the simulated rig of a name at real pace; returns the port's name."""
    running: list[tuple[Server, threading.Thread]] = []

    def start(name: str, *, tcp: bool = False) -> str:
        controller = build(read_sim_name(name))
        server: Server
        if tcp:
            server, (host, port) = serve_tcp(controller)
            where = f"socket://{host}:{port}"
        else:
            server, where = serve_pty(controller)
        thread = threading.Thread(target=server.run, name="simulated rig")
        thread.start()
        running.append((server, thread))
        return where

    yield start
    for server, thread in running:
        server.stop()
        thread.join(PATIENCE_S)
        assert not thread.is_alive()
