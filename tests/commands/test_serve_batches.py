"""The processes that a service begins for batches: they end with it, however it ends."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest
from process_groups import SECONDS_TO_END, ends, wait_for_workers

from service.judging.batches import WORTH_SHARING

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
ROOT = Path(__file__).parents[2]
ASKED = {"axle": {"vehicle": "tarn-300-double-cab", "end": "front"}, "parts": [], "record": False}


@pytest.fixture
def served(settings):
    """A service in a group of its own, as one that is started in a terminal, that has begun its processes."""
    inherited = {name: value for name, value in os.environ.items() if not name.startswith("COILGAP_")}
    own = {"COILGAP_DATABASE_URL": settings.database_url, "COILGAP_PORT": "0", "COILGAP_BATCH_PROCESSES": "2"}
    with subprocess.Popen(
        [sys.executable, "-m", "service"], cwd=ROOT, env={**inherited, **own},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    ) as process:  # fmt: skip
        address = re.search(r"http://[^ ]+", process.stdout.readline())[0]
        answer = httpx.post(f"{address}/v1/evaluations/batch", json={"requests": [ASKED] * WORTH_SHARING}, timeout=60)
        assert answer.status_code == 200
        wait_for_workers(process)
        yield process
        process.kill()


@pytest.mark.parametrize("seconds", [0.0, 3.0])
def test_ctrl_c_ends_all_of_them_with_a_line(served, seconds):
    time.sleep(seconds)  # while they begin, and when they have
    os.killpg(served.pid, signal.SIGINT)  # all of them hear it
    _, told = served.communicate(timeout=SECONDS_TO_END)
    assert (served.returncode, told) == (0, "coilgap: stopped.\n")
    assert ends(served.pid)


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
