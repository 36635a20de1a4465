"""What all tests share."""

from __future__ import annotations

import shutil
from contextlib import contextmanager

import pytest
from hypothesis import settings
from playwright.sync_api import sync_playwright

# A deadline would be a clock: whether a test passes may not hang on how busy the machine is.
settings.register_profile("without-a-clock", deadline=None)
settings.load_profile("without-a-clock")

CHROMIUM = "/usr/bin/chromium"
# Nothing that a browser does of itself may look like a request of a page.
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]


@contextmanager
def launched():
    assert shutil.which(CHROMIUM), f"{CHROMIUM} is missing: install the package chromium"
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield found
        found.close()


@pytest.fixture
def browser():
    """Debian's own browser, for one test."""
    with launched() as found:
        yield found


@pytest.fixture(scope="module")
def kept_browser():
    """The same for all tests of a file, of which none runs a loop of its own."""
    with launched() as found:
        yield found
