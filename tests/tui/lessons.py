"""A lesson on record, the same every time: simulated runs and readings by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from rig.catalogue.catalogue import load_catalogue
from rig.inquiry.lesson import PREDICTED, READ, Subject, TypedReading, enter_typed
from rig.inquiry.trimmer_setting import BEFORE, TURNED
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.touch_off import touch_off
from rig.records import Store
from rig.wiring import connect

CATALOGUE = load_catalogue()
LEVEL = CATALOGUE.sensor("level-18")
STEEL, PVC, GLASS = (CATALOGUE.target(name) for name in ("steel", "pvc", "glass"))
AT = datetime(2031, 3, 4, 9, 30, tzinfo=UTC)
_RIG = "sim://?sensor=capacitive&target=steel&seed=7&pace=fast"


def teach(store: Store) -> None:
    """Measure steel before and after the trimmer was turned, then two materials."""
    settings = BenchSettings()
    rig = connect(_RIG, settings)
    clock = (AT + timedelta(minutes=n) for n in range(1000))
    chance = random.Random(7)
    context = RunContext.on(rig.mover, settings, store, lambda _: None)
    for target, label in ((STEEL, BEFORE), (STEEL, TURNED), (PVC, ""), (GLASS, "")):
        if label == TURNED:
            rig.simulation.turn_trimmer(0.8)
        else:
            if target == PVC:
                rig.simulation.turn_trimmer(1.0 / 0.8)
            rig.simulation.mount(LEVEL, target)
            bench = touch_off(rig.mover, settings, lambda _: None)
        order = RunOrder(
            sensor=LEVEL, target=target, sweeps=5, speeds_mm_s=(1.0,), label=label
        )
        result = carry_out_run(
            bench, order, replace(context, now=lambda: next(clock), chance=chance)
        )
        bench = result.bench
    rig.close()


def write_down(store: Store) -> None:
    """Put what three people predicted and read on record."""
    subject = Subject(sensor=LEVEL, target=STEEL)
    predicted = [("ada", 7.0), ("bo", 9.5), ("cy", 8.4)]
    read = [("ada", 7.7), ("ada", 8.1), ("bo", 8.6), ("bo", 8.4), ("bo", 8.5)]
    for figure, pairs in ((PREDICTED, predicted), (READ, read)):
        typed = [TypedReading(*pair) for pair in pairs]
        enter_typed(store, typed, subject=subject, figure=figure, at=AT)
