"""A real PostgreSQL server for a test run, in a folder and on a socket of its own."""

from __future__ import annotations

import contextlib
import itertools
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Self

from tests.patience import PATIENCE_S

OWNER = "owner"
_USER = "postgres"  # as Debian's package makes it: the server refuses to run as root
_SETTINGS = (
    "listen_addresses=",
    # What dies here are processes and not the computer
    "fsync=off",
    "full_page_writes=off",
    "shared_buffers=32MB",
    "max_connections=60",
)


class MissingPackage(Exception):
    """Debian's package is not installed."""


class DatabaseServer:
    """A server that runs until it is closed; use it as a context.

    Attributes:
        socket: Folder of its socket.
    """

    def __init__(self) -> None:
        self._programs = _programs()
        self.socket = Path(tempfile.mkdtemp(prefix="gapsweep-server-"))
        self._data = self.socket / "data"
        if os.geteuid() == 0:
            user = pwd.getpwnam(_USER)
            os.chown(self.socket, user.pw_uid, user.pw_gid)
        self._numbers = itertools.count(1)
        self._run(
            "initdb",
            # Sorted as people sort, which no file of records is
            *("--locale-provider=icu", "--icu-locale=en-US", "--encoding=UTF8"),
            *("--auth=trust", "--no-sync", f"--username={OWNER}"),
            *("--pgdata", str(self._data)),
        )
        settings = (*_SETTINGS, f"unix_socket_directories={self.socket}")
        with (self._data / "postgresql.conf").open("a") as file:
            file.writelines(
                f"{one.replace('=', chr(61) + chr(39), 1)}'\n" for one in settings
            )
        self.start()

    def start(self) -> None:
        """Start it, and wait until it takes connections."""
        log = str(self.socket / "log")
        wait = ("-w", "-t", str(round(PATIENCE_S)))
        self._run("pg_ctl", "start", "-D", str(self._data), "-l", log, *wait)

    def kill(self) -> None:
        """End it with all that belongs to it as a crash does, by SIGKILL."""
        first = int((self._data / "postmaster.pid").read_text().split()[0])
        of_it = [first, *_children(first)]
        for process in of_it:
            with contextlib.suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        give_up_at = time.monotonic() + PATIENCE_S
        while any(_runs(process) for process in of_it):
            assert time.monotonic() < give_up_at, "killed, and it still runs"
            time.sleep(0.01)
        # Its process may wait to be buried for long yet, and would pass for alive
        for lock in (self._data / "postmaster.pid", *self.socket.glob(".s.*.lock")):
            lock.unlink()

    def new_database(self, like: str = "template1") -> str:
        """Make a database, empty or as another one is, and return its name."""
        name = f"records_{next(self._numbers)}"
        self.sql(f"CREATE DATABASE {name} TEMPLATE {like}")
        return name

    def url(self, database: str, *, user: str = OWNER, **query: str) -> str:
        """Return the URL of a database."""
        words = "".join(f"&{key}={value}" for key, value in query.items())
        return f"postgresql+psycopg://{user}@/{database}?host={self.socket}{words}"

    def sql(
        self, statement: str, *, database: str = _USER, user: str = OWNER
    ) -> list[str]:
        """Return the rows that a statement gives to a tool that is not ours."""
        found = self._run(
            *("psql", "-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1"),
            *("-h", str(self.socket), "-U", user, "-d", database, "-c", statement),
        )
        return found.splitlines()

    def close(self) -> None:
        """End it, and take away all that it wrote."""
        with contextlib.suppress(subprocess.CalledProcessError):
            self._run("pg_ctl", "stop", "-D", str(self._data), "-m", "immediate", "-w")
        shutil.rmtree(self.socket, ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _run(self, program: str, *arguments: str) -> str:
        command = [str(self._programs / program), *arguments]
        if os.geteuid() == 0:
            ids = f"--reuid={_USER}", f"--regid={_USER}", "--init-groups"
            command = ["setpriv", *ids, *command]
        log = self.socket / "said"
        with log.open("w+") as said:  # a pipe would stay open as long as the server
            done = subprocess.run(
                command,
                stdout=said,
                stderr=said,
                stdin=subprocess.DEVNULL,
                cwd=self.socket,
                env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
                timeout=PATIENCE_S,
            )
            said.seek(0)
            text = said.read()
        if done.returncode:
            error = subprocess.CalledProcessError(done.returncode, command, text)
            error.add_note(text)
            raise error
        return text


def _programs() -> Path:
    """Return the folder of the server's programs.

    Raises:
        MissingPackage: There is none.
    """
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found:
        raise MissingPackage(
            "no database server to test against is installed: apt-get install"
            " postgresql"
        )
    return found[-1].parent


def _children(parent: int) -> list[int]:
    found = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(parent)],
        capture_output=True,
        text=True,
        check=False,
    )
    return [int(word) for word in found.stdout.split()]


def _runs(process: int) -> bool:
    """Whether a process is there, and not only waiting to be buried."""
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"
