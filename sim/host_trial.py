"""`python -m sim.host_trial`: hold a host against what SPEC.md says a host owes.

Serves a simulated rig behind a wire that damages, loses, repeats and delays lines, and
tells at the end, on Ctrl-C, which duties were kept.
"""

from __future__ import annotations

import argparse
import signal
import sys
from collections.abc import Sequence
from types import FrameType
from urllib.parse import parse_qsl

from firmware_protocol.conformance.clause import Verdict
from firmware_protocol.conformance.hosts import DutyResult, HostTrial, Scene
from sim.options import build, read_options
from sim.serve import serve_pty, serve_tcp

_SHARE = 0.06
_USAGE_STATUS, _PORT_STATUS = 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Serve until Ctrl-C, tell, and return the exit status."""
    given = _parser().parse_args(arguments)
    try:
        controller = build(read_options(dict(parse_qsl(given.rig))))
    except ValueError as exc:
        print(exc, file=sys.stderr)  # noqa: T201
        return _USAGE_STATUS
    trial = HostTrial(
        controller, seed=given.seed, share=given.share, scene=Scene(given.scene)
    )
    try:
        if given.tcp is None:
            server, where = serve_pty(trial)
        else:
            server, (host, port) = serve_tcp(trial, port=given.tcp)
            where = f"socket://{host}:{port}"
    except OSError as exc:
        print(f"it cannot be served: {exc.strerror}", file=sys.stderr)  # noqa: T201
        return _PORT_STATUS

    def stop(_number: int, _frame: FrameType | None) -> None:
        server.stop()

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, stop)
    print(where, flush=True)  # noqa: T201
    print("SIMULATED rig; let the host measure, then Ctrl-C", file=sys.stderr)  # noqa: T201
    server.run()
    results = trial.judge.results()
    for result in results:
        print(line_of(result))  # noqa: T201
    to_rig, to_host = trial.damaged
    print(f"{to_rig} lines to the rig and {to_host} to the host were damaged")  # noqa: T201
    return status_of(results)


def line_of(result: DutyResult) -> str:
    """Return what a reader sees of one duty."""
    number, _, words = result.duty.value.partition(" ")
    text = f"{number:<6} {_WORDS[result.verdict]:<9} {words} ({result.occasions} times)"
    return f"{text}\n{'':7}came: {result.came}" if result.came else text


def status_of(results: Sequence[DutyResult]) -> int:
    """Return the exit status: 1 if a duty was broken, or none could be tried."""
    verdicts = {result.verdict for result in results}
    return int(Verdict.FAILS in verdicts or Verdict.CONFORMS not in verdicts)


_WORDS = {
    Verdict.CONFORMS: "kept",
    Verdict.FAILS: "broken",
    Verdict.NOT_APPLICABLE: "not tried",
}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m sim.host_trial",
        description="Holds a host against the duties of SPEC.md 13.",
        epilog="Exit status: 0 what was tried was kept, 1 a duty was broken or none "
        "was tried, 2 wrong usage, 3 the port.",
    )
    parser.add_argument(
        "--tcp", type=int, metavar="PORT", help="TCP port; else a pseudo-terminal"
    )
    parser.add_argument(
        "--scene",
        choices=[scene.value for scene in Scene],
        default=Scene.NOISE.value,
        help="what goes wrong besides: nothing more, a restart in the third motion, or "
        "a third motion that does not end",
    )
    parser.add_argument(
        "--share",
        type=_share,
        default=_SHARE,
        help="share of the lines that is damaged, each way (default: %(default)s)",
    )
    parser.add_argument("--seed", type=int, default=1, help="seed of what goes wrong")
    parser.add_argument(
        "--rig",
        default="",
        metavar="OPTIONS",
        help="options of the simulated rig, such as sensor=inductive&seed=7",
    )
    return parser


def _share(text: str) -> float:
    value = float(text)
    if not 0.0 <= value <= 0.5:
        raise argparse.ArgumentTypeError("give a share from 0 to 0.5")
    return value


if __name__ == "__main__":
    sys.exit(main())
