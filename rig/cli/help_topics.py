"""Topics of `gapsweep help` that belong to no single command."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from rig.model.figure_kinds import FIGURE_KINDS

_STATUS: Final = """Exit status

0  done
1  done, and a verdict is "does not conform"
2  wrong usage or input
3  rig or link, or stopped by Ctrl-C, SIGTERM or SIGHUP
4  records

With --json an error is a JSON document too, named "error"."""

_ENVIRONMENT: Final = """Environment variables

GAPSWEEP_RIG         serial port, pyserial URL or sim:// for --rig
GAPSWEEP_RECORDS     file or database URL for --records
GAPSWEEP_CATALOGUE   TOML file with more sensors and targets for --catalogue
GAPSWEEP_TOKEN       token that opens `gapsweep serve`
GAPSWEEP_LOOK_TOKEN  token that opens its read-only view
GAPSWEEP_SCAN_PREFIX key that a barcode scanner sends before each code
NO_COLOR             no colours in the terminal UI

An option on the command line counts before its variable."""

_NUMBERS: Final = """Numbers

Type a decimal point or comma: 21.5 or 21,5. A number that can be read in two ways, such
as 1,234, or that has marks between thousands is refused. Separate the numbers of a list
by commas, or by semicolons where they have decimal commas: 7,9;8,1.

Tables with decimal commas need semicolons between cells. Exported CSV has the decimal
mark of this computer's locale, or that of --decimal. JSON has points always."""

_FILES: Final = """Files

-  stands for standard input where a file is read: run -, batch --from -, import hand -
-  stands for standard output where a page is written: report RUN --out -

Nothing is overwritten. Without --out, a report or an export gets a name that says what
is in it."""

_COMPLETION: Final = """Completion

bash, in ~/.bashrc:   eval "$(_GAPSWEEP_COMPLETE=bash_source gapsweep)"
zsh, in ~/.zshrc:     eval "$(_GAPSWEEP_COMPLETE=zsh_source gapsweep)"
fish, in ~/.config/fish/completions/gapsweep.fish:
                      _GAPSWEEP_COMPLETE=fish_source gapsweep | source"""


def _figures() -> str:
    name = max(len(kind.name) for kind in FIGURE_KINDS)
    lines = [
        f"{kind.name:<{name}}  {kind.symbol:<4} {kind.unit:<5} {kind.meaning}".rstrip()
        for kind in FIGURE_KINDS
    ]
    return "\n".join(["Figures", "", *lines])


# By name: what it is about, and its text
TOPICS: Final[Mapping[str, tuple[str, Callable[[], str]]]] = {
    "figures": ("what each figure means", _figures),
    "status": ("exit statuses", lambda: _STATUS),
    "environment": ("environment variables", lambda: _ENVIRONMENT),
    "numbers": ("how numbers are typed, read and written", lambda: _NUMBERS),
    "files": ("standard input and output, names of files", lambda: _FILES),
    "completion": ("completion in bash, zsh and fish", lambda: _COMPLETION),
}
