"""Fixtures for the records: an open store in a folder of its own, and samples."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pytest

from rig.records import Reader, Store, Writer, open_records

HERE = Path(__file__).parent


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
def store(path: Path) -> Iterator[Store]:
    with open_records(path) as store:
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
