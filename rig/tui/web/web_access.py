"""Who may open the UI in a browser: which addresses, which pages, which token.

Pure: no server, no socket. Who may open the page may move the axis, so everything
that is not known to be allowed is refused. Onlookers have two pages of their own, which
only show a picture; a token for onlookers opens those and nothing else.
"""

from __future__ import annotations

import hmac
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass

from rig.errors import InputError

LOOPBACK = "127.0.0.1"
LOOK_PAGE = "/look"
LOOK_PICTURE = "/look/screen.svg"
_FOR_ONLOOKERS = (LOOK_PAGE, LOOK_PICTURE)
_SHORTEST_TOKEN = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is known of a request from a browser.

    Attributes:
        host: Host header of the request: what stands in the address line.
        origin: Origin header of the request: the page that asks; empty if the browser
            says none.
        cookies: Cookies by name.
        token: What stands in the address after `token=`; empty if nothing does.
        path: Path of what the address leads to, as the server has it; empty if nothing
            is there.
    """

    host: str
    origin: str
    cookies: Mapping[str, str]
    token: str
    path: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cookie:
    """Where a browser keeps a token, and for which pages.

    Attributes:
        name: Name of the cookie.
        path: Pages below it get the cookie.
        same_site: Whether links from other sites bring it along.
    """

    name: str
    path: str
    same_site: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """Where the UI is served and who may open it.

    Attributes:
        host: Address of this computer that is listened on.
        port: TCP port.
        token: Token that must be shown; empty for none, on the loopback address only.
        look_token: Token that lets onlookers look on; empty for none.

    Raises:
        InputError: Others could reach it and there is no token, or too short a one, or
            the token for onlookers would let them act.
    """

    host: str
    port: int
    token: str = ""
    look_token: str = ""

    def __post_init__(self) -> None:
        _check("token", self.token)
        _check("look token", self.look_token)
        if not self.token and not self.only_here:
            raise InputError(
                f"{self.host} can be reached from other computers, and whoever opens "
                "the page can move the axis",
                hint=f"serve on {LOOPBACK}, or set a token in GAPSWEEP_TOKEN",
            )
        if self.look_token and not self.token:
            raise InputError(
                "there is a token for looking on but none for acting, so everybody on "
                "this computer could move the axis",
                hint="set a second, different token in GAPSWEEP_TOKEN",
            )
        if self.look_token and _same(self.look_token, self.token):
            raise InputError(
                "the token for looking on is the one for acting: onlookers could move "
                "the axis",
                hint="set two different tokens",
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
    def cookie(self) -> Cookie:
        """The cookie that carries the token."""
        return Cookie(name=f"gapsweep-{self.port}", path="/", same_site="Strict")

    @property
    def look_cookie(self) -> Cookie:
        """The cookie that carries the token of an onlooker."""
        # A link in a message of the class opens the page; it can do nothing but show
        name = f"gapsweep-look-{self.port}"
        return Cookie(name=name, path=LOOK_PAGE, same_site="Lax")

    def cookie_for(self, token: str) -> Cookie | None:
        """Return the cookie for a token that was shown; None if it is neither."""
        if self.token and _same(token, self.token):
            return self.cookie
        if self.look_token and _same(token, self.look_token):
            return self.look_cookie
        return None

    def why_refused(self, request: Request) -> str:
        """Return why a request is refused; empty if it is not."""
        if request.origin and request.origin != f"http://{request.host}":
            # Or any page in the same browser could press keys here
            return "request from another origin"
        looks_on = _shown(request, self.look_cookie, self.look_token)
        if looks_on and request.path in _FOR_ONLOOKERS:
            return ""
        if self.token:
            if _shown(request, self.cookie, self.token):
                return ""
            if looks_on:
                return f"this token is for looking on: open {self.address}look"
            return "the token is missing or wrong: open the address with ?token=..."
        if request.host not in self._own_names():
            # Or a name that somebody lets point here would reach the rig
            return f"this server goes by {LOOPBACK}:{self.port} and no other name"
        return ""

    def shows_a_token(self, request: Request) -> bool:
        """Whether a request shows a token, right or wrong."""
        return any(self._tokens_of(request))

    def shows_a_wrong_token(self, request: Request) -> bool:
        """Whether a request shows a token that is none of the two."""
        known = [token for token in (self.token, self.look_token) if token]
        shown = self._tokens_of(request)
        return any(
            one and not any(_same(one, token) for token in known) for one in shown
        )

    def _tokens_of(self, request: Request) -> tuple[str, ...]:
        if not self.token:
            return ()
        names = (self.cookie.name, self.look_cookie.name)
        return (request.token, *(request.cookies.get(name, "") for name in names))

    def _own_names(self) -> tuple[str, ...]:
        names = (LOOPBACK, "localhost", "[::1]", self.host)
        return tuple(f"{name}:{self.port}" for name in names)

    @property
    def address(self) -> str:
        """What to open in the browser on this computer."""
        wanted = LOOPBACK if self.host in ("0.0.0.0", "::") else self.host
        shown = f"[{wanted}]" if ":" in wanted else wanted
        return f"http://{shown}:{self.port}/"


def _check(name: str, token: str) -> None:
    if token and (len(token) < _SHORTEST_TOKEN or not token.isascii()):
        raise InputError(
            f"the {name} has {len(token)} characters: it must have "
            f"{_SHORTEST_TOKEN} or more, all ASCII",
            hint='python3 -c "import secrets; print(secrets.token_urlsafe())"',
        )


def _shown(request: Request, cookie: Cookie, token: str) -> bool:
    """Whether a request shows a token, in its cookie or in the address."""
    shown = (request.cookies.get(cookie.name, ""), request.token)
    return token != "" and any(_same(one, token) for one in shown)


def _same(shown: str, token: str) -> bool:
    # In a time that does not tell how much of it was right
    return hmac.compare_digest(shown.encode("utf-8", "replace"), token.encode())


def warning(access: Access) -> str:
    """Return what must be known before anybody opens the page."""
    lines = ["Anyone who opens the first address can move the axis."]
    if access.only_here:
        lines.append("Only programs on this computer reach it.")
    else:
        lines.append(
            "Other computers reach it, and token and keys travel unencrypted: use it "
            "in a network that you trust."
        )
    lines += [
        "One tab owns a rig; a second one says so.",
        _about_onlookers(access),
        "Closing or leaving the page stops the axis. The stop key of a page is a "
        "convenience: keep the emergency stop in reach.",
    ]
    return "\n".join(lines)


def _about_onlookers(access: Access) -> str:
    shows = (
        f"{LOOK_PAGE} shows the tab with the rig to onlookers as a picture, read only"
    )
    if access.look_token:
        return (
            f"{shows}. The look token opens that page and nothing else: give onlookers "
            "this one, never the other."
        )
    if access.token:
        return (
            f"{shows}. It needs the token, which also lets act: set "
            "GAPSWEEP_LOOK_TOKEN to give onlookers one of their own."
        )
    return (
        f"{shows}. Who can open it on this computer can also open the page that acts."
    )
