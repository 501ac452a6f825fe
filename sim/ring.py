"""The ring of notices: numbers, keeps and counts them. Knows no wire."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import Final

from firmware_protocol import encode
from firmware_protocol.messages import (
    NOTICE_NUMBER_HIGH,
    EdgeNotice,
    FaultNotice,
    RestCause,
    RestNotice,
    Source,
    StartNotice,
    StartReason,
)

NUMBERS: Final = NOTICE_NUMBER_HIGH + 1
_SCALE_ROUND: Final = 2**16
_PAST: Final = NUMBERS // 2  # older numbers count as still to come


@dataclass(slots=True, kw_only=True)
class Ring:
    """The last notices, as lines.

    Attributes:
        size: How many are kept.
        next_number: Number that the next notice will have.
        lost: Notices overwritten before they were sent, modulo 65536.
    """

    size: int
    next_number: int = 0
    lost: int = 0
    _kept: deque[tuple[int, bytes]] = field(default_factory=deque)
    # The last `rest` and the last `fault`, and those that the ring overwrote unsent
    _last: dict[type, tuple[int, bytes]] = field(default_factory=dict)
    _spared: deque[tuple[int, bytes]] = field(default_factory=deque)
    _unsent: int = 0  # how many at the end of the ring wait for the wire

    @property
    def oldest(self) -> int:
        """Oldest number kept; the next number if there is none."""
        return self._kept[0][0] if self._kept else self.next_number

    def line(self, number: int) -> bytes | None:
        """Return the line of a notice that is kept."""
        kept = (*self._kept, *self._last.values())
        return next((line for each, line in kept if each == number), None)

    def take_unsent(self) -> bytes | None:
        """Return the next line for the wire, oldest first."""
        if self._spared:
            return self._spared.popleft()[1]
        if not self._unsent:
            return None
        line = self._kept[-self._unsent][1]
        self._unsent -= 1
        return line

    def start(self, boot: int, reason: StartReason) -> None:
        """Put in the notice of a start."""
        number, lost = self._claim()
        self._put(StartNotice(number=number, lost=lost, boot=boot, reason=reason))

    def edge(
        self,
        source: Source,
        level: bool,
        count_steps: int,
        clock: int,
        scale: int | None = None,
    ) -> None:
        """Put in the notice of an edge; `scale` is its count then, None without one."""
        number, lost = self._claim()
        self._put(
            EdgeNotice(
                number=number,
                lost=lost,
                source=source,
                level=level,
                position=count_steps,
                time=clock,
                scale=None if scale is None else _apart(scale, count_steps),
            )
        )

    def rest(
        self, request: int, cause: RestCause, count_steps: int, clock: int
    ) -> None:
        """Put in the notice of a rest."""
        number, lost = self._claim()
        self._put(
            RestNotice(
                number=number,
                lost=lost,
                request=request,
                cause=cause,
                position=count_steps,
                time=clock,
            )
        )

    def fault(self, fault: int, count_steps: int, clock: int) -> None:
        """Put in the notice of a fault."""
        number, lost = self._claim()
        self._put(
            FaultNotice(
                number=number,
                lost=lost,
                fault=fault,
                position=count_steps,
                time=clock,
            )
        )

    def _claim(self) -> tuple[int, int]:
        """Make room and return number and loss count of the notice to come."""
        if len(self._kept) >= self.size:
            if self._unsent == len(self._kept):
                self._unsent -= 1
                if self._kept[0] in self._last.values():
                    self._spared.append(self._kept[0])
                else:
                    self.lost = (self.lost + 1) % NUMBERS
            self._kept.popleft()
        return self.next_number, self.lost

    def _put(self, notice: StartNotice | EdgeNotice | RestNotice | FaultNotice) -> None:
        self._kept.append((notice.number, encode(notice)))
        if isinstance(notice, (RestNotice, FaultNotice)):
            before = self._last.get(type(notice))
            if before is not None and before in self._spared:
                self._spared.remove(before)
                self.lost = (self.lost + 1) % NUMBERS
            self._last[type(notice)] = self._kept[-1]
        self._unsent += 1
        self.next_number = (notice.number + 1) % NUMBERS
        for kind, (number, _) in tuple(self._last.items()):
            if (self.next_number - number) % NUMBERS >= _PAST:
                del self._last[kind]


def _apart(scale: int, count_steps: int) -> int:
    """Return the scale's count less the step count, modulo 65536."""
    return (scale - count_steps + _SCALE_ROUND // 2) % _SCALE_ROUND - _SCALE_ROUND // 2
