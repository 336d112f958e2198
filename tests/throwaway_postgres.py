"""A PostgreSQL of the tests' own: made in a temporary folder, run by a plain user, gone afterwards."""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import psycopg
import pytest

FAST, AT_ONCE = signal.SIGINT, signal.SIGQUIT
"""Two ways to stop: callers are sent away and all is put in order; or as it is, to be recovered at the next start."""

SECONDS_TO_START = 20
MEMORY_BYTES = 1_000_000_000
NUMBERS = count(1)


class Server:
    """One cluster, which may be stopped and started again."""

    def __init__(self, folder):
        self._plain = {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.geteuid() == 0 else {}
        if self._plain:
            shutil.chown(folder, "nobody", "nogroup")
        self._quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder, **self._plain}
        self._program = program("postgres")
        self._folder, self._data, self._process = folder, f"{folder}/data", None
        made = [program("initdb"), "-D", self._data, "-U", "keeper", "-A", "trust", "-N", "-E", "UTF8"]
        subprocess.run(made, check=True, **self._quiet)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self._port = free.getsockname()[1]
        self.address = f"postgresql://keeper@127.0.0.1:{self._port}"

    def start(self):
        options = ["-c", "listen_addresses=127.0.0.1", "-c", "fsync=off", "-p", str(self._port), "-k", self._folder]
        self._process = subprocess.Popen([self._program, "-D", self._data, *options], **self._quiet)
        for _ in range(SECONDS_TO_START * 20):
            try:
                psycopg.connect(f"{self.address}/postgres").close()
            except psycopg.OperationalError:
                time.sleep(0.05)
            else:
                return
        pytest.fail("the throw-away PostgreSQL does not answer")

    def stop(self, how=FAST):
        if self._process is not None:
            self._process.send_signal(how)
            self._process.wait()
            self._process = None

    @contextmanager
    def standing_still(self):
        """All its processes are there and keep their connections, and none of them does anything."""
        first = self._process.pid
        children = Path(f"/proc/{first}/task/{first}/children")
        os.kill(first, signal.SIGSTOP)  # so that it begins no others
        stopped = [first, *map(int, children.read_text("ascii").split())]
        try:
            for process in stopped[1:]:
                os.kill(process, signal.SIGSTOP)
            yield
        finally:
            for process in stopped:
                os.kill(process, signal.SIGCONT)


def _quick_folder():
    """Memory where there is enough: a new database is some three hundred files, which take a disk a quarter second."""
    memory = "/dev/shm"  # noqa: S108 — what is made in it has a name of its own
    return memory if Path(memory).is_dir() and shutil.disk_usage(memory).free > MEMORY_BYTES else None


@contextmanager
def running_server():
    with tempfile.TemporaryDirectory(prefix="postgres-", dir=_quick_folder()) as folder:
        server = Server(folder)
        try:
            server.start()
            yield server
        finally:
            server.stop()


def program(name):
    """A program of the database server, wherever the machine keeps it. Without it tests are skipped, but not in CI."""
    found = shutil.which(name) or max(map(str, Path("/usr/lib/postgresql").glob(f"*/bin/{name}")), default=None)
    if found is None:
        missing = f"this machine has no {name}: install PostgreSQL's server (Debian: apt-get install postgresql)"
        leave = pytest.fail if os.environ.get("CI", "").lower() == "true" else pytest.skip
        leave(f"{missing}, or name a server in TEST_POSTGRESQL_URL")
    return found


def new_name():
    """A name that no other database has, on a server that other runs of the tests may use too."""
    return f"t{os.getpid()}_{next(NUMBERS)}"


@contextmanager
def new_database(server_address, name, template="template1"):
    """A database that is gone afterwards, whoever is still connected to it."""
    with psycopg.connect(f"{server_address}/postgres", autocommit=True) as keeper:
        keeper.execute(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY")
    yield f"{server_address}/{name}"
    with psycopg.connect(f"{server_address}/postgres", autocommit=True) as keeper:
        keeper.execute(f"DROP DATABASE {name} WITH (FORCE)")
