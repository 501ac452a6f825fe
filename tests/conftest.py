"""Keeps the caller's terminal and shell out of the tests; options of the test run."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.database_server import DatabaseServer, MissingPackage

# How fast the machine is decides nothing
settings.register_profile(
    "any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")

# Textual reads these when it is imported, so they go before anything imports it
for name in list(os.environ):
    if name.startswith("TEXTUAL_") or name in ("NO_COLOR", "GAPSWEEP_RECORDS"):
        del os.environ[name]

# Screens show the time of the wall too
os.environ["TZ"] = "UTC0"
time.tzset()

# A shell lets what it begins in the background ignore Ctrl-C, and so would whatever a
# test starts
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# As `nohup` lets it ignore a hang-up. The tests outlive that all the same, but a
# handler is not passed on to what they start
if signal.getsignal(signal.SIGHUP) is signal.SIG_IGN:
    signal.signal(signal.SIGHUP, lambda *_: None)


_strikes: list[str] = []


@pytest.fixture(scope="session", autouse=True)
def _note_strikes() -> Iterator[None]:
    """Note whenever any simulated rig of this process drives into its face."""
    from sim.bench import Bench

    keep = Bench.strike

    def strike(bench: Bench, **what: float) -> None:
        keep(bench, **what)
        _strikes.append(f"{what} at {bench.machine.steps_per_mm} steps/mm")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Bench, "strike", strike)
        yield


@pytest.fixture(autouse=True)
def _drives_into_no_face(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test in which a simulated rig was driven into its face.

    A test that provokes it is marked `strikes`, and fails if it does not.
    """
    yield
    struck, provoked = _strikes.copy(), request.node.get_closest_marker("strikes")
    _strikes.clear()
    if provoked is None:
        assert not struck, f"a simulated rig was driven into its face: {struck}"
    else:
        assert struck, "no simulated rig was driven into its face, though marked so"


@pytest.fixture(scope="session")
def database_server() -> Iterator[DatabaseServer]:
    """A real server of records; in CI a missing package is a failure."""
    try:
        server = DatabaseServer()
    except MissingPackage as missing:
        if os.environ.get("CI"):
            pytest.fail(str(missing), pytrace=False)
        pytest.skip(str(missing))
    with server:
        yield server


@pytest.fixture(scope="session")
def server_with_records(database_server: DatabaseServer) -> str:
    """Name of a database with records that hold nothing, to make others like it."""
    from rig.records import open_records

    name = database_server.new_database()
    open_records(database_server.url(name)).close()
    return name


_MOST_WORKERS = 8  # half a gigabyte each


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-looks",
        action="store_true",
        help="write how every scene of the terminal UI looks to tests/tui/looks/",
    )


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--rewrite-looks"):
        config.option.markexpr = ""  # they are seen whole by long tests only


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the long tests, so that none is left over at the end."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Start two workers a processor, as many tests wait at real pace.

    None for a file or what goes by a name.
    """
    named = [word for word in config.args if ".py" in Path(word).name]
    if named or config.getoption("keyword"):
        return 0
    processors = os.cpu_count() or 1
    return max(processors, min(2 * processors, _MOST_WORKERS))
