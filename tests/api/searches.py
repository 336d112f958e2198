"""What the tests of searches ask, and how they wait."""

from threading import Event

from service.engine.search import search

PATH = "/v1/searches"
TARN = {"vehicle": "tarn-300-double-cab", "end": "front"}
KINDS = ["coil_spring", "strut_top_spacer", "spring_spacer", "bump_stop_spacer", "upper_arm", "differential_spacer"]
LIFT = {"axle": TARN, "duty": "unsealed_touring", "target_lift_mm": 40, "kinds": KINDS}
AT_ONCE = {"Prefer": "wait=0"}
PATIENTLY = {"Prefer": "wait=30"}


def found(client, **asked):
    """What a search finds, all on one page."""
    answer = client.post(PATH, {"limit": 200, "near_misses": 20, **asked}, headers=PATIENTLY)
    assert answer.status_code == 201, answer.text
    assert answer.json()["status"] == "done"
    return answer.json()


def skus(combination):
    return [part["sku"] for part in combination["parts"]]


def until_idle(client):
    """Wait until all searches that were begun here have ended."""
    client.app.state.service.searches._executor.submit(lambda: None).result(30)


class Gate:
    """A search that tells some progress and then waits until it is opened, unless it is told to stop."""

    def __init__(self, monkeypatch):
        self.reached, self._open = Event(), Event()
        monkeypatch.setattr("service.judging.search_queue.search", self._search)

    def _search(self, wanted, tell):
        tell(3, 10)
        self.reached.set()
        while not self._open.wait(0.01):
            tell(3, 10)
        return search(wanted, tell)

    def open(self):
        self._open.set()
