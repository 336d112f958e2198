"""The processes that a service begins for batches: they end with it, however it ends."""

import os
import re
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from process_groups import SECONDS_TO_END, ends, wait_for_workers

from service.commands.serve import SECONDS_TO_FINISH
from service.judging.batches import WORTH_SHARING

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
ROOT = Path(__file__).parents[2]
ASKED = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [], "record": False}
UNSAFE = [{"sku": "KES-SPR-4030"}, {"sku": "KES-TOP-20"}]
"""Whose remedies take their time."""


@contextmanager
def running(settings, processes):
    """A service in a group of its own, as one that is started in a terminal, and how to ask it for a batch."""
    inherited = {name: value for name, value in os.environ.items() if not name.startswith("COILGAP_")}
    own = {"COILGAP_DATABASE_URL": settings.database_url, "COILGAP_PORT": "0", "COILGAP_BATCH_PROCESSES": processes}
    with subprocess.Popen(
        [sys.executable, "-m", "service"], cwd=ROOT, env={**inherited, **own},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    ) as process:  # fmt: skip
        address = re.search(r"http://[^ ]+", process.stdout.readline())[0]
        path = f"{address}/v1/evaluations/batch"
        yield process, lambda questions: httpx.post(path, json={"requests": questions}, timeout=60)
        process.kill()


@pytest.fixture
def served(settings):
    """One that has begun its processes."""
    with running(settings, "2") as (process, ask):
        assert ask([ASKED] * WORTH_SHARING).status_code == 200
        wait_for_workers(process)
        yield process


@pytest.mark.parametrize("seconds", [0.0, 3.0])
def test_ctrl_c_ends_all_of_them_with_a_line(served, seconds):
    time.sleep(seconds)  # while they begin, and when they have
    os.killpg(served.pid, signal.SIGINT)  # all of them hear it
    _, told = served.communicate(timeout=SECONDS_TO_END)
    assert (served.returncode, told) == (0, "coilgap: stopped.\n")
    assert ends(served.pid)


def test_a_second_ctrl_c_ends_a_long_batch_that_no_other_process_judges(settings):
    loads = [{"occupants_kg": kg} for kg in range(1000)]
    with running(settings, "0") as (process, ask), ThreadPoolExecutor(1) as asking:
        asked = asking.submit(ask, [{**ASKED, "parts": UNSAFE, "load": load} for load in loads])
        time.sleep(1.5)
        assert not asked.done()
        for _ in range(2):
            os.killpg(process.pid, signal.SIGINT)
            time.sleep(0.5)
        _, told = process.communicate(timeout=SECONDS_TO_FINISH)  # nobody waited for the end of what is under way
        assert (process.returncode, told) == (0, "coilgap: stopped.\n")
        answer = asked.result()
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/service-ending")


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_nobody_outlives_a_service_that_is_ended(served, how):
    served.send_signal(how)
    served.communicate(timeout=SECONDS_TO_END)
    assert ends(served.pid)


def test_a_process_that_stands_still_does_not_hold_up_the_end(served):
    for child in Path(f"/proc/{served.pid}/task/{served.pid}/children").read_text().split():
        if "spawn_main" in Path(f"/proc/{child}/cmdline").read_text():
            os.kill(int(child), signal.SIGSTOP)
    served.send_signal(signal.SIGINT)
    _, told = served.communicate(timeout=SECONDS_TO_END)
    assert (served.returncode, told) == (0, "coilgap: stopped.\n")
    assert ends(served.pid)
