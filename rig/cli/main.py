"""The `gapsweep` command: its table of commands, and how errors leave it."""

from __future__ import annotations

import contextlib
import importlib
import io
import sys
from collections.abc import Sequence

import click

from rig.cli.output import forget_said, said, say, say_document, say_on_stderr
from rig.cli.text_options import check_arguments, take_plain_text
from rig.errors import InputError, RigError
from rig.version import SOFTWARE_VERSION

# Name, what it does. The modules behind them are imported only when needed, so that
# help answers at once; rig.cli.commands.<name with _> holds `command`.
COMMANDS = {
    "demo": "Run the whole job once on the simulated rig, up to a report.",
    "rigs": "List serial ports and which of them answer as rigs.",
    "watch": "Show every input live, and move nothing.",
    "settings": "Show or change the settings of a rig: scale, travel, name.",
    "check": "Check whether the bench is fit for measuring.",
    "touch-off": "Find the datum and the backlash on the touch probe.",
    "sweep": "Measure one sensor against one target now.",
    "run": "Carry out a plan from a file.",
    "results": "List what is in the records.",
    "show": "Show one run with its figures and budget.",
    "part": "Show everything on record about one part.",
    "label": "Print labels with a QR code for parts.",
    "batch": "Summarise the parts of a batch and judge each part.",
    "study": "Study how well the rig measures: lay out, fill, results.",
    "product": "Specify products: what a sensor should be, and approve it.",
    "lot": "Inspect a lot: begin it, inspect parts, decide.",
    "supplier": "Show lots over time; write to a supplier about a lot.",
    "calibrate": "Record the calibration of the axis with its due date.",
    "bench": "Declare what is known about a bench: screw, probe, plate.",
    "availability": "Measure how soon a sensor works after switch-on.",
    "hand": "Compare readings by hand and predictions with the rig's.",
    "recompute": "Recalculate figures from the recorded edges.",
    "report": "Report runs, a plan, a batch, a study or a lot in HTML.",
    "documents": "List the documents issued under a number.",
    "export": "Export the records as a workbook, CSV, JSON or Parquet.",
    "import": "Import sensors, targets, plans, hand readings from tables.",
    "operator": "Manage operators: add, retire, set PINs.",
    "trail": "List who changed what in the records, when and why.",
    "verify": "Check that the records are as they were written.",
    "sync": "Hand the records of a bench in to a server.",
    "backup": "Copy the records to a file while they are in use.",
    "restore": "Restore the records from a copy.",
    "log": "Show what went over the wire to a rig: a trace.",
    "schema": "Print the JSON Schema of a document that --json prints.",
    "help": "Explain a command or a topic.",
    "serve": "Serve the terminal UI to a browser on this computer.",
    "simulate": "Serve a simulated rig on a pseudo-terminal or TCP port.",
}
USAGE_STATUS = 2
INTERRUPTED_STATUS = 3


class CommandTable(click.Group):
    """A group whose commands are imported when they are asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command; None if the table has none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(
            f"rig.cli.commands.{cmd_name.replace('-', '_')}"
        )
        command: click.Command = module.command
        take_plain_text(command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Offer the nearest name where one was mistyped."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as exc:
            import difflib

            close = difflib.get_close_matches(args[0], COMMANDS, n=1, cutoff=0.7)
            if not close:
                raise
            sentence = f"{exc.message} Did you mean {close[0]!r}?"
            raise click.UsageError(sentence, ctx) from exc

    def format_commands(
        self, ctx: click.Context, formatter: click.HelpFormatter
    ) -> None:
        """Write the table without importing what is behind it."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=CommandTable,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Begin with: gapsweep demo",
)
@click.version_option(SOFTWARE_VERSION, "-V", "--version", prog_name="gapsweep")
@click.pass_context
def gapsweep(ctx: click.Context) -> None:
    """Measure operate and release points of proximity sensors on a rig.

    Without a command it opens the terminal UI.
    """
    if ctx.invoked_subcommand is not None:
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        say(ctx.get_help())
        return
    from rig.tui.app.app import GapsweepApp

    GapsweepApp().run()


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit status."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    forget_said()
    try:
        check_arguments(given)
        status = gapsweep.main(
            args=given,
            prog_name="gapsweep",
            standalone_mode=False,
        )
    except click.ClickException as exc:
        usage = io.StringIO()
        exc = _with_place(exc)
        exc.show(usage)
        say_on_stderr(usage.getvalue().rstrip("\n"))
        _say_error(given, exc.format_message(), "", USAGE_STATUS)
        return USAGE_STATUS
    except (click.Abort, KeyboardInterrupt):
        say_on_stderr("stopped")
        _say_error(given, "stopped", "", INTERRUPTED_STATUS)
        return INTERRUPTED_STATUS
    except RigError as exc:
        say_on_stderr(f"gapsweep: {exc}")
        if exc.hint:
            say_on_stderr(f"  {exc.hint}")
        _say_error(given, str(exc), exc.hint, exc.exit_status)
        return exc.exit_status
    except SystemExit:
        # So click leaves when whoever read our output has had enough; it would leave
        # with status 1, which is a verdict here
        return 0
    return status if isinstance(status, int) else 0


def _with_place(exc: click.ClickException) -> click.ClickException:
    """Say of an option before its command that it belongs behind it."""
    if not isinstance(exc, click.NoSuchOption) or exc.ctx is None:
        return exc
    if not isinstance(exc.ctx.command, click.Group) or exc.possibilities:
        return exc
    path, name = exc.ctx.command_path, exc.option_name
    return click.UsageError(
        f"{name} stands before the command; options go behind it, as in"
        f" `{path} COMMAND {name} ...`.",
        exc.ctx,
    )


def _say_error(given: Sequence[str], message: str, hint: str, exit_status: int) -> None:
    """Write an error as the one JSON document, where one was asked for."""
    if "--json" not in given or said():
        return
    from rig.inquiry.error_document import ErrorDocument

    found = ErrorDocument(message=message, hint=hint or None, exit_status=exit_status)
    with contextlib.suppress(InputError, OSError):  # standard output is what is wrong
        say_document("error", found)
