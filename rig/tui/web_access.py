"""Who may open the UI in a browser: which addresses, which pages, which token.

Pure: no server, no socket. Whoever may open the page may move the axis, so everything
that is not known to be allowed is refused.
"""

from __future__ import annotations

import hmac
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass

from rig.errors import InputError

LOOPBACK = "127.0.0.1"
_SHORTEST_TOKEN = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is known of a request from a browser.

    Attributes:
        host: Its Host header: what stands in the address line.
        origin: Its Origin header: the page that asks; empty if the browser says none.
        cookies: By name.
        token: What stands in the address after `token=`; empty if nothing does.
    """

    host: str
    origin: str
    cookies: Mapping[str, str]
    token: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """Where the UI is served and who may open it.

    Attributes:
        host: Address of this computer that is listened on.
        port: TCP port.
        token: That must be shown; empty for none, on the loopback address only.

    Raises:
        InputError: Others could reach it and there is no token, or too short a one.
    """

    host: str
    port: int
    token: str = ""

    def __post_init__(self) -> None:
        if self.token and (
            len(self.token) < _SHORTEST_TOKEN or not self.token.isascii()
        ):
            raise InputError(
                f"the token has {len(self.token)} characters: it must have "
                f"{_SHORTEST_TOKEN} or more, all ASCII",
                hint='python3 -c "import secrets; print(secrets.token_urlsafe())"',
            )
        if not self.token and not self.only_here:
            raise InputError(
                f"{self.host} can be reached from other computers, and whoever opens "
                "the page can move the axis",
                hint=f"serve on {LOOPBACK}, or set a token in GAPSWEEP_TOKEN",
            )

    @property
    def only_here(self) -> bool:
        """Whether this computer alone can reach it."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False

    @property
    def cookie(self) -> str:
        """Name of the cookie that carries the token."""
        return f"gapsweep-{self.port}"

    def why_refused(self, request: Request) -> str:
        """Return why a request is refused; empty if it is not."""
        if request.origin and request.origin != f"http://{request.host}":
            # Or any page in the same browser could press keys here
            return "another page asks, and only the page of this server may"
        if self.token:
            shown = (request.cookies.get(self.cookie, ""), request.token)
            if not any(_same(one, self.token) for one in shown):
                return "the token is missing or wrong: open the address with ?token=..."
        elif request.host not in self._own_names():
            # Or a name that somebody lets point here would reach the rig
            return f"this server goes by {LOOPBACK}:{self.port} and no other name"
        return ""

    def _own_names(self) -> tuple[str, ...]:
        names = (LOOPBACK, "localhost", "[::1]", self.host)
        return tuple(f"{name}:{self.port}" for name in names)

    @property
    def address(self) -> str:
        """What to open in the browser on this computer."""
        wanted = LOOPBACK if self.host in ("0.0.0.0", "::") else self.host
        shown = f"[{wanted}]" if ":" in wanted else wanted
        return f"http://{shown}:{self.port}/"


def _same(shown: str, token: str) -> bool:
    # In a time that does not tell how much of it was right
    return hmac.compare_digest(shown.encode("utf-8", "replace"), token.encode())


def warning(access: Access) -> str:
    """Return what must be known before anybody opens the page."""
    lines = ["Whoever opens this page can move the axis."]
    if access.only_here:
        lines.append("Only programs on this computer reach it.")
    else:
        lines.append(
            "Other computers reach it, and token and keys travel unencrypted: use it "
            "in a network that you trust."
        )
    lines += [
        "One tab owns a rig; a second one is told so. There is no view for onlookers.",
        "Closing the tab stops the axis. The stop key of a page is a convenience: keep "
        "the emergency stop in reach.",
    ]
    return "\n".join(lines)
