"""The server of the form: where it listens, and what it prints before it does."""

from __future__ import annotations

import re
from contextlib import closing
from dataclasses import replace

import pytest

from ledger.bench import form_server
from ledger.bench.form_server import check_reach, serve_bench, warning
from ledger.errors import LedgerError, PublicationError
from ledger.publish.site import reach


@pytest.fixture
def listened(monkeypatch):
    """Where a server that is not really run would have listened."""
    found = []

    def run(_, sockets):
        found.extend(each.getsockname()[0] for each in sockets)

    monkeypatch.setattr(form_server.uvicorn.Server, "run", run)
    return found


def test_it_listens_on_loopback_and_nowhere_else(desk, listened):
    said = []
    serve_bench(desk, 18_761, said.append, reach(None))
    assert listened == ["127.0.0.1"]
    assert re.search(r"http://127\.0\.0\.1:187\d\d/enter\?token=\S{43}$", said[0])
    assert "once" in said[1]


def test_it_listens_wider_only_when_an_address_is_named_and_says_what_that_means(
    desk, listened, monkeypatch
):
    opened = form_server.open_socket
    asked = []

    def elsewhere(port, address="127.0.0.1"):
        asked.append(address)
        return opened(port, "127.0.0.1")  # no other address of the machine can be counted on

    monkeypatch.setattr(form_server, "open_socket", elsewhere)
    said = []
    serve_bench(desk, 18_771, said.append, reach("192.0.2.7"))
    assert asked == ["127.0.0.1", "192.0.2.7"]
    assert len(listened) == 2
    assert said[0].startswith("Warning")
    assert "unencrypted" in said[0]
    code = re.search(r"http://192\.0\.2\.7:\d+/ with the code ([2-9a-z]{10})$", said[1])[1]
    token = re.search(r"token=(\S+)$", said[2])[1]
    assert code not in token


def test_it_is_never_at_every_address_at_once():
    for address in ("0.0.0.0", "::"):  # noqa: S104 - what is refused
        with pytest.raises(PublicationError, match="name the one"):
            check_reach(reach(address, ["bench.example"]))
    check_reach(reach("192.0.2.7"))
    assert "192.0.2.7" in warning(reach("192.0.2.7"))


def test_a_busy_port_is_stepped_over(desk, listened):
    with closing(form_server.open_socket(18_781)) as busy:
        said = []
        serve_bench(desk, busy.getsockname()[1], said.append, reach(None))
    assert f":{busy.getsockname()[1] if busy.fileno() >= 0 else 18_781}/" not in said[0]


def test_a_second_bench_on_the_same_folder_is_refused_and_the_first_goes_on(
    desk, listened, monkeypatch
):
    """Two at once would write over one another's drafts; another folder is another bench."""
    said, refused = [], []

    def run(_, sockets):
        with pytest.raises(LedgerError, match="already") as error:
            serve_bench(desk, 18_791, said.append, reach(None))
        refused.append(str(error.value))
        elsewhere = replace(desk, folder=desk.folder / "other")
        monkeypatch.setattr(form_server.uvicorn.Server, "run", lambda *_, **__: None)
        serve_bench(elsewhere, 18_791, said.append, reach(None))

    monkeypatch.setattr(form_server.uvicorn.Server, "run", run)
    serve_bench(desk, 18_791, said.append, reach(None))
    assert len(refused) == 1
    assert str(desk.folder.resolve()) in refused[0]
    monkeypatch.setattr(form_server.uvicorn.Server, "run", lambda *_, **__: None)
    serve_bench(desk, 18_791, said.append, reach(None))  # whoever comes after it is let in


def test_a_folder_in_which_nothing_can_be_written_is_said(desk, listened):
    (desk.folder / "drafts").write_text("a file where the folder should be", encoding="utf-8")
    with pytest.raises(LedgerError, match="Nothing can be written"):
        serve_bench(desk, 18_796, list, reach(None))
    assert listened == []
