"""The simulated controller: bytes in, bytes out, on a clock that others advance.

No thread, no clock of its own. Whoever holds it feeds bytes, advances the time and
takes bytes; `next_event_us` tells how far the time can jump without missing anything.
The same bytes at the same simulated times give the same answers, and the same motion
orders give the same edges whenever they come.
"""

from __future__ import annotations

from collections import deque
from typing import Final

from firmware_protocol import StopMark
from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    FIRST_RATE_BITS_S,
    MAJOR,
    Ability,
    Control,
    Fault,
    Input,
    Quantity,
    Request,
    RestCause,
    Source,
    StartReason,
)
from sim.bench import Bench
from sim.chance import Purpose, stream
from sim.drive import Drive, Happening, Kind
from sim.faults import NEW_MAJOR, NO_FAULTS, Faults, Garbler
from sim.machine import Mounting, Truth
from sim.orders import Orders
from sim.requests import Desk
from sim.ring import Ring
from sim.settings import Settings
from sim.traits import SUPPLY_START_MV, Traits
from sim.wire import Inbox, Outbox

CLOCK_ROUND: Final = 2**32  # µs after which the controller's clock begins anew
_BOOT_ROUND: Final = 2**16
_ROOM_FOR_REQUESTS: Final = 2  # one under work, one behind it; SPEC.md 6
_RATE_TRIAL_US: Final = 500_000  # SPEC.md 9
_NONSENSE_BYTES: Final = 24
_SPIKE_US: Final = 20  # shorter than what any sensor gives
_REQUEST_MARK: Final = Request.MARK.encode("ascii")


class Controller:
    """A controller with its machine.

    Attributes:
        bench: The machine; tests may look into it and mount things.
        now_us: Simulated time.
        boot: Number of this start.
        rig: Identity of the rig.
        speaks: Major version spoken.
        hung_up: Whether the link has gone away for good.
    """

    def __init__(
        self,
        bench: Bench,
        *,
        traits: Traits | None = None,
        seed: int = 0,
        rig: str = "sim",
        faults: Faults = NO_FAULTS,
        clock_start_us: int = 0,
        first_notice: int = 1,
    ) -> None:
        """Take a bench and switch the power on.

        Args:
            bench: The machine.
            traits: Limits and abilities; None for the usual ones.
            seed: Seed of everything random on this side of the pins.
            rig: Identity of the rig.
            faults: Faults in force.
            clock_start_us: What the controller's clock shows at power-on.
            first_notice: Number of the first notice after that of the start.
        """
        self.bench = bench
        self.now_us = 0
        self.speaks = NEW_MAJOR if "too_new" in faults else MAJOR
        self.hung_up = False
        self._settings = Settings(
            traits=traits or Traits(), rig=rig, fastest=traits or Traits()
        )
        self._faults = faults
        make = stream(seed, Purpose.MAKE)
        self.boot = int(make.integers(1, _BOOT_ROUND))
        self._drops = stream(seed, Purpose.NOTICE)
        to_host = Garbler(faults.get("garble_to_host"), seed, Purpose.TO_HOST.value)
        to_me = Garbler(
            faults.get("garble_to_controller"), seed, Purpose.TO_CONTROLLER.value
        )
        self._inbox = Inbox(to_me.garble)
        self._outbox = Outbox(self._next_notice, to_host.garble)
        self._restart_at_us = faults.time_us("restart_at")
        self._hang_up_at_us = faults.time_us("hang_up")
        self._supply_until_us = faults.time_us("supply_lost")
        self._drive_until_us = faults.time_us("drive_lost")
        wires = {
            Source.PROBE: faults.time_us("probe_wire"),
            Source.HOME: faults.time_us("home_wire"),
        }
        self._wires = {s: time for s, time in wires.items() if time is not None}
        self._spikes = stream(seed, Purpose.SPIKE)
        self._spike_us = self._next_spike_us()
        self._drive = Drive(bench)
        self._orders_begun = 0
        self._start(StartReason.POWER, clock_start_us, first_notice)

    # ---- what a port does

    def receive(self, data: bytes) -> None:
        """Let the host put bytes on the wire now."""
        if not self.hung_up:
            self._inbox.send(data, self.now_us)

    def take_output(self) -> bytes:
        """Return the bytes that have reached the host since the last call."""
        return self._outbox.take()

    def advance(self, seconds: float) -> None:
        """Let simulated time pass."""
        self.advance_to(self.now_us + round(seconds * 1e6))

    def advance_to(self, time_us: int) -> None:
        """Let simulated time pass up to a moment; what falls on it happens.

        Raises:
            ValueError: The moment has passed.
        """
        if time_us < self.now_us:
            raise ValueError(f"time is at {self.now_us} us, not before {time_us} us")
        while (event_us := self.next_event_us()) is not None and event_us <= time_us:
            self.now_us = event_us
            self._happen()
        self.now_us = time_us

    def advance_once(self, time_us: int) -> None:
        """Let the next thing happen, or time pass up to a moment if that is sooner."""
        event_us = self.next_event_us()
        if event_us is None or event_us > time_us:
            self.now_us = time_us
        else:
            self.now_us = event_us
            self._happen()

    def next_event_us(self) -> int | None:
        """Return when something happens next if no more bytes come, None if never.

        Never before now: what is overdue happens at once.
        """
        if self.hung_up:
            return None
        times = (
            self._drive.next_us(),
            self._inbox.next_us(),
            self._outbox.next_us(),
            self._silent_at_us(),
            self._rate_until_us,
            self._restart_at_us,
            self._hang_up_at_us,
            self._supply_until_us,
            self._orders.counts_at_us(),
            self._enabled_until_us(),
            self._drive_until_us,
            min(self._wires.values(), default=None),
            self._spike_us,
        )
        # Asked for at every turn: a list and `min` would take twice as long
        soonest = None
        for time in times:
            if time is not None and (soonest is None or time < soonest):
                soonest = time
        if soonest is None or soonest > self.now_us:
            return soonest
        return self.now_us

    @property
    def rig(self) -> str:
        """Name of the rig, as it is set now."""
        return self._settings.rig

    # ---- what a person at the rig does or knows

    def restart(self, reason: StartReason = StartReason.BUTTON) -> None:
        """Start anew: home, soft limits, notices and the clock are lost."""
        if self._drive.moving:
            self._drive.stop(self.now_us)
        self.boot = (self.boot + 1) % _BOOT_ROUND
        self._orders_begun = self._orders.orders_begun
        self._inbox.clear(self.now_us)
        self._outbox.clear()
        self._start(reason, 0, 1)

    def mount(self, mounting: Mounting) -> None:
        """Put up another sensor or target at rest; the input shows its level."""
        self.bench.mount(mounting)
        self._drive.forget_delayed()

    def put_block(self, length_mm: float) -> None:
        """Put a gauge block on the touch probe at rest; 0 takes it away."""
        self.bench.put_block(length_mm)

    def clamp_face(self, near_mm: float) -> None:
        """Clamp the sensor's holder elsewhere while nothing moves."""
        self.bench.clamp_face(near_mm)

    def lose_drive(self) -> None:
        """Press the emergency stop, or take the motor's supply away."""
        was_on, self.bench.drive_on = self.drive_on(), False
        if was_on and not self.drive_on():
            self._orders.fail(Fault.DRIVE_LOST, self.now_us)

    def break_wire(self, source: Source) -> None:
        """Break the wire of probe or home switch: its contact seems to open, 1."""
        seen = self._drive.break_wire(source, self.now_us)
        if seen is not None:
            self._see(seen)
        self._send()

    def turn_trimmer(self, ratio: float) -> None:
        """Turn the sensor's trimmer at rest; the input shows the level at once."""
        self.bench.turn_trimmer(ratio)
        self._drive.forget_delayed()

    def truth(self) -> Truth:
        """Return what the bench knows of itself."""
        return self.bench.truth(self.now_us * 1e-6)

    # ---- what the requests ask about

    def clock(self, time_us: int) -> int:
        """Return the controller's clock at a simulated time."""
        return (time_us - self._clock_zero_us) % CLOCK_ROUND

    def count_steps(self) -> int:
        """Return the step count now."""
        return self._drive.count_at(self.now_us)

    def probe_closed(self) -> bool:
        """Return the level of the touch probe."""
        return self.bench.probe_closed

    def home_closed(self) -> bool:
        """Return the level of the home switch."""
        return self.bench.home_closed

    def drive_on(self) -> bool:
        """Return whether the motor's drive is on, or not watched."""
        return (
            self.bench.drive_on
            or Ability.DRIVE_SENSE not in self._settings.traits.abilities
        )

    def dropped(self) -> int:
        """Return how many damaged lines there were since the start."""
        return self._inbox.assembler.dropped + self._damaged

    def inputs(self) -> int:
        """Return the sum of the inputs."""
        levels = {
            Input.OUT: self._drive.output_level,
            Input.PROBE: self.bench.probe_closed,
            Input.HOME: self.bench.home_closed,
            Input.SUPPLY: self.bench.powered,
            Input.DRIVE: self.drive_on(),
            Input.PROBE_SEEN: self._probe_seen,
        }
        return sum(int(name) for name, level in levels.items() if level)

    def read(self, quantity: Quantity) -> int:
        """Return a quantity, in the unit of the protocol."""
        if quantity is Quantity.SCALE:
            count = self._drive.scale_at(self.now_us)
            assert count is not None, "a rig without a scale does not tell of it"
            return count
        level = self._drive.output_level
        return self.bench.quantity(quantity, self.now_us * 1e-6, level)

    def put(self, control: Control, value: int) -> int:
        """Set a control to a value that fits; return the controller's clock then."""
        if control is Control.SENSOR_SUPPLY:
            self._drive.switch_supply(value != 0, self.now_us)
        else:
            self.bench.set_v = value * 1e-3
        return self.clock(self.now_us)

    # ---- inside

    def _start(self, reason: StartReason, clock_us: int, first_notice: int) -> None:
        self._clock_zero_us = self.now_us - clock_us
        self._ring = Ring(size=self._settings.traits.ring_size)
        self._drive.set_count(0)
        self._drive.set_scale_zero(None)
        self._drive.forget_delayed()
        # A reset holds nothing off
        self._drive.switch_supply(True, self.now_us)
        self.bench.set_v = SUPPLY_START_MV * 1e-3
        self._orders = Orders(
            drive=self._drive,
            ring=self._ring,
            settings=self._settings,
            clock=self.clock,
            orders_before=self._orders_begun,
        )
        self._desk = Desk(
            facts=self, orders=self._orders, ring=self._ring, settings=self._settings
        )
        self._waiting: deque[bytes] = deque()
        self._damaged = 0
        self._heard_us = self.now_us
        self._rate_until_us: int | None = None
        self._set_rate(FIRST_RATE_BITS_S)
        self._ring.start(self.boot, reason)
        self._ring.next_number = first_notice
        # Whoever switches a rig on taps its probe, and a probe that works shows it
        self._probe_seen = self.bench.tapped
        if not self.drive_on():
            self._orders.fail(Fault.DRIVE_LOST, self.now_us)
        self._send()

    def _silent_at_us(self) -> int | None:
        if not self._orders.busy:
            return None
        return self._heard_us + self._settings.traits.silence_limit_ms * 1000

    def _enabled_until_us(self) -> int | None:
        rest_s = self._settings.traits.enable_rest_s
        if not self._orders.enabled or self._orders.busy or not rest_s:
            return None
        return self._heard_us + rest_s * 1_000_000

    def _happen(self) -> None:
        """Do the one thing that is due."""
        now = self.now_us
        if _due(self._drive.next_us(), now):
            seen = self._drive.take()
            if seen.kind is not Kind.LOOKED:
                self._see(seen)
        elif _due(self._inbox.next_us(), now):
            self._arrive()
        elif _due(self._outbox.next_us(), now):
            rate = self._outbox.finish()
            if rate is not None:
                self._set_rate(rate)
                fast = rate != FIRST_RATE_BITS_S
                self._rate_until_us = now + _RATE_TRIAL_US if fast else None
        elif _due(self._orders.counts_at_us(), now):
            self._orders.count_pending(now)
        elif _due(self._silent_at_us(), now):
            self._orders.halt(RestCause.SILENT, now)
        elif _due(self._rate_until_us, now):
            self._rate_until_us = None
            self._set_rate(FIRST_RATE_BITS_S)
        else:
            self._go_wrong(now)
        self._send()

    def _see(self, seen: Happening) -> None:
        self._probe_seen = self._probe_seen or seen.kind is Kind.PROBE
        self._orders.happen(seen, self.now_us)

    def _go_wrong(self, now: int) -> None:
        if _due(self._restart_at_us, now):
            self._restart_at_us = None
            self.restart(StartReason.BROWNOUT)
        elif _due(self._hang_up_at_us, now):
            self._hang_up_at_us = None
            self.hung_up = True
        elif _due(self._supply_until_us, now):
            self._supply_until_us = None
            self._drive.cut_supply(now)
            if self.bench.switched_on:
                self._orders.fail(Fault.SUPPLY_LOST, now)
        elif _due(self._drive_until_us, now):
            self._drive_until_us = None
            self.lose_drive()
        elif _due(self._enabled_until_us(), now):
            self._orders.free()
        elif _due(self._spike_us, now):
            self._drive.disturb(now, _SPIKE_US)
            self._spike_us = self._next_spike_us()
        else:
            for source, time_us in list(self._wires.items()):
                if _due(time_us, now):
                    del self._wires[source]
                    self.break_wire(source)

    def _next_spike_us(self) -> int | None:
        rate_s = self._faults.get("spikes")
        if not rate_s:
            return None
        return self.now_us + round(self._spikes.exponential(1e6 / rate_s)) + 1

    def _arrive(self) -> None:
        items = self._inbox.take()
        if "nonsense" in self._faults:
            self._outbox.babble(self._drops.bytes(_NONSENSE_BYTES))
            return
        if "silent" in self._faults:
            return
        for item in items:
            if item is StopMark.STOP:
                self._waiting.clear()
                self._orders.halt(RestCause.STOPPED, self.now_us)
            elif isinstance(item, bytes):
                self._hear(item)

    def _hear(self, body: bytes) -> None:
        if body[-5:-4] != b" " or check_digits(body[:-5]) != body[-4:]:
            self._damaged += 1
            return
        if not body.startswith(_REQUEST_MARK):
            self._damaged += 1
            return  # an echo of its own lines must keep no axis moving
        if (
            self.now_us - self._heard_us
            >= self._settings.traits.silence_limit_ms * 1000
        ):
            self._desk.session.lapse()
        self._heard_us = self.now_us
        self._rate_until_us = None
        if len(self._waiting) < _ROOM_FOR_REQUESTS:
            self._waiting.append(body)
        else:
            self._damaged += 1  # no room: the host has more outstanding than allowed
        self._send()

    def _send(self) -> None:
        """Work on requests while there is room for a reply; keep the wire busy."""
        if "silent" in self._faults or "nonsense" in self._faults:
            return
        self._outbox.begin(self.now_us)
        while self._waiting and not self._outbox.reply_waits:
            reply = self._desk.answer(self._waiting.popleft())
            if reply is None:
                self._damaged += 1  # no mark, number and word
            else:
                self._outbox.put_reply(reply.lines, reply.rate_bits_s)
            self._outbox.begin(self.now_us)

    def _next_notice(self) -> bytes | None:
        line = self._ring.take_unsent()
        share = self._faults.get("drop_notice")
        while line is not None and share is not None and self._drops.random() < share:
            line = self._ring.take_unsent()
        return line

    def _set_rate(self, rate_bits_s: int) -> None:
        self._inbox.rate_bits_s = rate_bits_s
        self._outbox.rate_bits_s = rate_bits_s


def _due(time_us: int | None, now_us: int) -> bool:
    return time_us is not None and time_us <= now_us
