"""Sessions of sweeps on simulated rigs under mixed faults.

A session is a plan on a rig and a line that go wrong as its seed says. It is taken up
again by "a person" where a person would; whatever comes of it is on record.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from rig.catalogue.catalogue import Catalogue, load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import BenchError, LinkError
from rig.inquiry.declared_bench import declare_bench
from rig.link.link import Link
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.events import Event, Remarked, RunBegan, SweepEnded
from rig.procedures.mover import Mover
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import PlanEntry, Store, open_records
from rig.wiring import SimTransport, Simulation
from sim.options import SimOptions, build, read_options
from tests.campaign.faulty_wire import FaultyWire
from tests.campaign.judge import Outcome, Told, as_kept, judge
from tests.campaign.settings import HARDWARE, Setting
from tests.declared_benches import FINE_BENCH, FINE_RIG

_MOST_TIMES_BEGUN = 12  # by a person; then the session is given up with its outcome
_CLOCK_ROUND_US = 2**32


class _DriftingTransport(SimTransport):
    """The host's clock is fast or slow against the controller's."""

    drift = 0.0

    def now_s(self) -> float:
        return super().now_s() * (1.0 + self.drift)

    def read(self, longest_wait_s: float) -> bytes:
        return super().read(longest_wait_s / (1.0 + self.drift))


class Session:
    """One session from the greeting to what the records hold of it."""

    def __init__(self, setting: Setting, folder: Path) -> None:
        self.setting = setting
        self._folder = folder
        self._settings = BenchSettings()
        self._run_id = ""
        self.told = Told()
        self._options = self._drawn_options()
        self.wire = self._wire()
        self.transport = _DriftingTransport(
            "sim://",
            self.wire,  # type: ignore[arg-type]
            real_pace=False,
        )
        self.transport.drift = setting.drift

    def _drawn_options(self) -> SimOptions:
        setting = self.setting
        chance = random.Random(setting.seed + 1)
        options = FINE_RIG | {"seed": str(setting.seed % 2**31)}
        if setting.hardware:
            options["fault"] = HARDWARE[setting.hardware].format(
                order=chance.randrange(5, 60),
                when=chance.uniform(5.0, 60.0),
                um=chance.choice((-1, 1)) * chance.randrange(20, 200),
            )
        return read_options(options)

    def _wire(self) -> FaultyWire:
        setting = self.setting
        chance = random.Random(setting.seed + 2)
        controller = build(self._options)
        if setting.wrap:
            # Both begin anew while the sweeps go on
            ahead_us = chance.randrange(22_000_000, 40_000_000)
            controller._clock_zero_us = ahead_us - _CLOCK_ROUND_US
            controller._ring.next_number = 2**16 - chance.randrange(20, 120)
        return FaultyWire(
            controller,
            seed=setting.seed,
            shares=setting.shares,
            cuts=setting.cuts,
            restart_us=setting.restart_us,
            stops_from_noise=setting.stops_from_noise,
        )

    def carry_out(self) -> Outcome:
        """Do it, begin again where a person would, and judge what is on record."""
        outcome = Outcome(setting=self.setting)
        with open_records(self._folder / f"{self.setting.seed}.sqlite") as store:
            for begun in range(_MOST_TIMES_BEGUN):
                outcome.by_hand = begun
                try:
                    self._take_up(store)
                    outcome.complete = True
                except BenchError:
                    pass  # the bench has to be put right: a session ends there
                except LinkError as exc:
                    outcome.reasons.append(f"{type(exc).__name__}: {exc}")
                    self._put_right()
                    continue
                except Exception as exc:  # whatever it is, it is counted
                    outcome.untyped.append(repr(exc))
                break
            judge(store, self.wire, self.told, outcome)
        return outcome

    def _take_up(self, store: Store) -> None:
        link = Link(self.transport)
        traits = link.greet(patience_s=120.0)
        mover = Mover(
            link, traits, acceleration_mm_s2=self._settings.acceleration_mm_s2
        )
        context = RunContext.on(mover, self._settings, store, self._tell)
        entry = self._on_record(context, store, traits.rig_id)
        hand = Simulation(self.wire.controller, self._options, asked_for=False)
        PlanWalk(entry, context, hand.mount).carry_out_rest()

    def _put_right(self) -> None:
        """See to what a person would before beginning again."""
        bench = self.wire.controller.bench
        bench.drive_on = bench.supplied = True
        bench.broken_wires.clear()

    def _on_record(self, context: RunContext, store: Store, rig_id: str) -> PlanEntry:
        found = context.reader.plans()
        if found:
            return found[0]
        now = datetime.now(UTC)
        declare_bench(store, rig_id, FINE_BENCH, author="", now=now, whole=True)
        text = self.setting.plan.format(sweeps=self.setting.sweeps)
        return begin_plan(parse_plan(text, "plan.toml", _catalogue()), context)

    def _tell(self, event: Event) -> None:
        told = self.told
        if isinstance(event, RunBegan):
            self._run_id = event.header.run_id
        elif isinstance(event, SweepEnded):
            told.kept.append(as_kept(self._run_id, event.sweep))
            if event.sweep.index < 2:
                told.truths[self._run_id] = self.wire.truth()
        elif isinstance(event, Remarked):
            told.outlasted += event.sentence.startswith("The rig answers again")


@cache
def _catalogue() -> Catalogue:
    return load_catalogue()


@contextmanager
def quick_folder() -> Iterator[Path]:
    """A folder that is gone afterwards; in memory where there is such a thing."""
    memory = Path("/dev/shm")
    with TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        yield Path(folder)


def carried_out(setting: Setting) -> Outcome:
    """Carry out one session and return what came of it."""
    with quick_folder() as folder:
        return Session(setting, folder).carry_out()
