"""Fixtures for the records: an open store in a folder of its own, and samples."""

from __future__ import annotations

import importlib.util
import inspect
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pytest

from rig.records import Reader, Store, Writer, open_records
from tests.database_server import DatabaseServer

HERE = Path(__file__).parent
FILE, SERVER = "file", "server"


@pytest.fixture(scope="session")
def samples() -> ModuleType:
    spec = importlib.util.spec_from_file_location("samples", HERE / "samples.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def location(request: pytest.FixtureRequest, path: Path) -> str:
    """Where the records are: in a file, or on a server where a test asks for both."""
    if getattr(request, "param", FILE) == FILE:
        return str(path)
    server: DatabaseServer = request.getfixturevalue("database_server")
    like = request.getfixturevalue("server_with_records")
    return server.url(server.new_database(like))


@pytest.fixture
def store(location: str) -> Iterator[Store]:
    with open_records(location) as store:
        yield store


@pytest.fixture
def writer(store: Store) -> Writer:
    return Writer(store)


@pytest.fixture
def reader(store: Store) -> Reader:
    return Reader(store)


@pytest.fixture
def start_process() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Start writing_process.py; whatever still runs at the end is killed."""
    started: list[subprocess.Popen[str]] = []

    def start(*arguments: object) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, str(HERE / "writing_process.py"), *map(str, arguments)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=HERE.parents[1],
            env={"PYTHONPATH": str(HERE.parents[1])},
        )
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 1 MiB; skips where none may be mounted."""
    folder = tmp_path / "small disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1024k", "tmpfs", str(folder)]
    try:
        subprocess.run(mount, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("no file system may be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run the tests of modules that say so against a file and against a server.

    A test that asks for the path, or for a tool that opens it, is about the file.
    """
    of_file = {"path", "other_tool"} & inspect.signature(
        metafunc.function
    ).parameters.keys()
    if of_file or not getattr(metafunc.module, "ON_SERVER_TOO", False):
        return
    if "location" in metafunc.fixturenames:
        on_server = pytest.param(SERVER, marks=pytest.mark.long)
        metafunc.parametrize("location", [FILE, on_server], indirect=True)
