"""What the tests of this folder share: the sample data, recorded and published once."""

from __future__ import annotations

import asyncio

import pytest

from ledger.holdings import sample_data
from ledger.publish.site import datasette_for
from ledger.publishing import publish
from ledger.record.store import Ledger
from ledger.workflow import record_files

WHEN = "2026-03-02T10:00:00Z"


@pytest.fixture(scope="session")
def sample_ledger(tmp_path_factory):
    """A ledger with all the sample data. No test adds to it."""
    path = tmp_path_factory.mktemp("hostile") / "ledger.db"
    record_files(path, sorted(sample_data().glob("*.yaml")), "examiner", WHEN)
    return path


@pytest.fixture(scope="session")
def sample_site(sample_ledger):
    """The folder of its site."""
    with Ledger.open(sample_ledger, read_only=True) as ledger:
        return publish(ledger, sample_ledger.parent / "site")


@pytest.fixture(scope="session")
def ask(sample_site):
    """Asks the sample site; by default as a browser on this machine does."""
    site = datasette_for(sample_site)

    def asked(path, **more):
        return asyncio.run(site.client.get(path, **more))

    return asked


# What a hostile or careless hand may type anywhere.
NASTY = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "'; DROP TABLE entry; --",
    "1 OR 1=1",
    '=HYPERLINK("http://elsewhere.example")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "../../../../etc/passwd",
    "..\\..\\windows\\win.ini",
    "file:///etc/passwd",
    "9" * 400,
    "1e999999999",
    "-" * 400,
    "{{ 7 * 7 }}{% for x in y %}",
    "${7*7} %s %n {0}",
    "[" * 300,
    "(" * 300,
    "\N{RIGHT-TO-LEFT OVERRIDE}gnp.exe",
    "C\N{CYRILLIC SMALL LETTER O}rbel",
    "a" + "\N{COMBINING ACUTE ACCENT}" * 300,
    "\N{ZERO WIDTH SPACE}\N{SOFT HYPHEN}",
    "\0",
    "\x1b[2J\x1b]0;title\x07",
    "\N{FULLWIDTH EQUALS SIGN}1+1",
    "line\r\nSet-Cookie: a=b",
    "&a *a !!python/object:os.system",
    "😀" * 50,
    "",
    " ",
)


@pytest.fixture(scope="session")
def nasty():
    return NASTY
