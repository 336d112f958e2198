"""Several threads may ask one axle for changes of its geometry at once: each gets its own, and none of them fails."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from surveyed_axles import SURVEYED

from service.engine import STANDARD, axle, compile_axle


@pytest.fixture
def few(monkeypatch):
    """So that changes drive each other out all the time."""
    monkeypatch.setattr(axle, "MOST_CHANGES", 2)
    monkeypatch.setattr(axle, "_compile", lambda _axle, duty, change: (duty, change))


@pytest.mark.usefixtures("few")
def test_none_is_lost_and_none_is_anothers():
    surveyed = compile_axle(*SURVEYED["macpherson"], STANDARD)
    wanted = [(("top_spacer", (float(number % 7), 1.0)),) for number in range(4000)]
    with ThreadPoolExecutor(8) as threads:
        found = list(threads.map(lambda change: surveyed.under("sealed_road", change), wanted))
    assert found == [("sealed_road", change) for change in wanted]
