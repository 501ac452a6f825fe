"""Which connections of browsers are cut off: those that ask for nothing for too long.

So ends whoever sends a request byte by byte, and whoever never takes the answer. Pure:
no server, no socket, no clock of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Final, TypeVar

MOST_CONNECTIONS: Final = 100  # a browser opens six at once, a tab keeps one
ASKING_PATIENCE_S: Final = 30.0

Connection = TypeVar("Connection", bound=Hashable)


class IdleConnections:
    """Knows when each connection asked for something last.

    Args:
        now_s: A clock that only goes forward.
        patience_s: How long one may ask for nothing.
    """

    def __init__(
        self, now_s: Callable[[], float], patience_s: float = ASKING_PATIENCE_S
    ) -> None:
        self._now_s = now_s
        self._patience_s = patience_s
        self._asked_s: dict[Hashable, float] = {}
        self._tabs: set[Hashable] = set()

    def note_request(self, connection: Hashable) -> None:
        """Note that a whole request came."""
        self._asked_s[connection] = self._now_s()

    def note_tab(self, connection: Hashable) -> None:
        """Note that a tab lives on it, which has limits of its own."""
        self._tabs.add(connection)

    def to_cut_off(self, there: Iterable[Connection]) -> list[Connection]:
        """Return the connections to be closed, those that came last among too many.

        Args:
            there: Every connection that is open, in the order in which they came.
        """
        now_s = self._now_s()
        open_now = list(there)
        self._tabs &= set(open_now)
        self._asked_s = {one: self._asked_s.get(one, now_s) for one in open_now}
        without_tab = [one for one in open_now if one not in self._tabs]
        late = {
            one for one in without_tab if now_s - self._asked_s[one] >= self._patience_s
        }
        staying = [one for one in without_tab if one not in late]
        late.update(staying[MOST_CONNECTIONS:])
        return [one for one in open_now if one in late]
