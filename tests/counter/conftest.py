"""Drawings read back from their SVG, and verdicts of the demo catalogue to draw."""

import os
import shutil
from pathlib import Path

import pytest
from defusedxml import ElementTree
from playwright.sync_api import sync_playwright
from real_server import serving

from service.app import create_app
from service.settings import Settings

SVG = "{http://www.w3.org/2000/svg}"
CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


class Paper:
    """The shapes of an SVG that say what they stand for."""

    def __init__(self, text):
        self.root = ElementTree.fromstring(text)

    def all(self, tag, **facts):
        """Every shape with those ``data-`` facts, as a dictionary of its attributes; ``None`` takes any value."""
        names = {f"data-{name.replace('_', '-')}": value for name, value in facts.items()}
        return [
            shape.attrib
            for shape in self.root.iter(SVG + tag)
            if all(name in shape.attrib and value in (None, shape.get(name)) for name, value in names.items())
        ]

    def one(self, tag, **facts):
        (shape, *others) = self.all(tag, **facts)
        assert not others
        return shape

    @property
    def words(self):
        return [text.text for text in self.root.iter(SVG + "text")]


@pytest.fixture
def paper():
    return Paper


@pytest.fixture
def verdict(shared_client):
    """Asks for a verdict that is not kept."""

    def ask(vehicle, end, *skus, **more):
        answer = shared_client.evaluate(
            axle={"vehicle": vehicle, "end": end}, parts=[{"sku": sku} for sku in skus], record=False, **more
        )
        assert answer.status_code == 200, answer.text
        return answer.json()

    return ask


@pytest.fixture(scope="module")
def counter_address(demo_database, tmp_path_factory):
    """The demo catalogue behind a real socket."""
    file = shutil.copy(demo_database, tmp_path_factory.mktemp("counter") / "service.sqlite3")
    app = create_app(Settings(database_url=f"sqlite:///{file}"))
    with serving(app) as address:
        yield address


@pytest.fixture(scope="module")
def browser():
    """Headless Chromium. Where it is missing the tests are skipped, but not in continuous integration.

    As long as it runs no other test can have an event loop, so it ends with its module.
    """
    if not CHROMIUM.exists():
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(f"There is no {CHROMIUM}.")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield chromium
        chromium.close()
