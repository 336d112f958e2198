"""What a command prints and nobody can read."""

import os
import socket
import subprocess
import sys

import httpx
import pytest

COMMANDS = [["--help"], ["keys", "issue"], ["keys", "list"], ["migrate"], ["verify-ledger"]]


def run(settings, *arguments, stdout=subprocess.PIPE, unbuffered=""):
    environment = {"COILGAP_DATABASE_URL": settings.database_url, "PYTHONUNBUFFERED": unbuffered}
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        env={**os.environ, **environment}, stdout=stdout, stderr=subprocess.PIPE, text=True, timeout=30, check=False,
    )  # fmt: skip


@pytest.fixture
def closed_pipe():
    reading, writing = os.pipe()
    os.close(reading)
    yield writing
    os.close(writing)


@pytest.mark.parametrize("arguments", COMMANDS)
def test_a_pipe_that_nobody_reads_ends_a_command_quietly(settings, closed_pipe, arguments):
    ended = run(settings, *arguments, stdout=closed_pipe)
    assert (ended.returncode, ended.stderr) == (141, "")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="has no disk that is always full")  # noqa: PTH110
@pytest.mark.parametrize("arguments", COMMANDS)
def test_a_full_disk_is_told_in_one_line(settings, arguments):
    with open("/dev/full", "wb") as full:  # noqa: PTH123
        ended = run(settings, *arguments, stdout=full)
    told = "coilgap: The disk is full: what there is to say cannot be written.\n"
    assert (ended.returncode, ended.stderr) == (1, told)


def test_without_buffers_it_is_the_same(settings, closed_pipe):
    ended = run(settings, "keys", "list", stdout=closed_pipe, unbuffered="1")
    assert (ended.returncode, ended.stderr) == (141, "")


def test_a_key_that_nobody_saw_is_not_issued(settings, closed_pipe):
    run(settings, "keys", "issue", "unseen", stdout=closed_pipe)
    assert "unseen" not in run(settings, "keys", "list").stdout


def test_it_serves_also_where_nobody_reads_that_it_does(settings, closed_pipe):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "COILGAP_DATABASE_URL": settings.database_url, "COILGAP_PORT": str(port)}
    with (
        subprocess.Popen([sys.executable, "-m", "service"], env=environment, stdout=closed_pipe) as process,
        httpx.Client(transport=httpx.HTTPTransport(retries=8), timeout=30) as caller,
    ):
        try:
            assert caller.get(f"http://127.0.0.1:{port}/healthz").status_code == 200
        finally:
            process.terminate()
