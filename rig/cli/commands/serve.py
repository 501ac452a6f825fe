"""`gapsweep serve`: the terminal UI in a browser on this computer."""

from __future__ import annotations

import click

from rig.cli.options import example, records_option
from rig.cli.output import say, say_on_stderr
from rig.errors import InputError


@click.command(epilog=example("gapsweep serve --port 8420"))
@click.option(
    "--rig",
    "rig_name",
    envvar="GAPSWEEP_RIG",
    show_envvar=True,
    metavar="PORT",
    help="A rig to offer first.",
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; any but the loopback one needs a token.",
)
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=8420,
    show_default=True,
    help="TCP port to listen on.",
)
@click.option(
    "--token",
    default="",
    envvar="GAPSWEEP_TOKEN",
    show_envvar=True,
    help="Must be shown to open the page. The variable keeps it off the process list.",
)
@click.option(
    "--look-token",
    default="",
    envvar="GAPSWEEP_LOOK_TOKEN",
    show_envvar=True,
    help="Opens the read-only page /look and nothing else; needs --token too.",
)
@records_option
def command(
    rig_name: str | None,
    host: str,
    port: int,
    token: str,
    look_token: str,
    records: str | None,
) -> None:
    """Serve the terminal UI to a browser on this computer, until Ctrl-C.

    Anyone who opens the page can move the axis. One tab owns a rig. The page /look
    shows that tab to onlookers as a picture, read only. Needs the extra `web`.
    """
    from rig.tui.web.web_access import LOOK_PAGE, Access, warning

    access = Access(host=host, port=port, token=token, look_token=look_token)
    try:
        from rig.tui.web.web_server import serve_until_stopped
    except ImportError as exc:
        raise InputError(
            f"serving needs the extra `web`: {exc.name} is not installed",
            hint="in the folder of Gapsweep: pip install '.[web]'",
        ) from exc
    say_on_stderr(warning(access))
    ending = "?token=..." if token else ""
    say(access.address + ending)
    say(access.address.rstrip("/") + LOOK_PAGE + ending)
    try:
        serve_until_stopped(access, rig_name=rig_name, records=records)
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(
            f"cannot listen on {host}, port {port}: {reason}",
            hint="choose another --port",
        ) from exc
    say_on_stderr("no longer served")
