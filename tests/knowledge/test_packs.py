"""Packs: refused whole with every fault, and added to without touching code."""

import os
import tracemalloc
from importlib.resources import files

import pytest

from ledger.errors import FaultsFound, UnknownName
from ledger.knowledge.packs import Packs, built_in_packs, read_pack
from ledger.models import Instrument
from ledger.references import (
    Caution,
    MarkLayout,
    PackFile,
    Practice,
    SerialTable,
    SourceCode,
    TraceKind,
)

HEAD = 'pack: mine\ntitle: Mine\nversion: "1"\ninvented: yes\n'

EXTENSION = (
    HEAD
    + """
catalogues:
  - kind: mandolin
    name: mandolin
    source: seen on four examples
    extends: yes
    positions:
      - id: arm-rest
        name: arm rest
        link: mounted
        parent: body
        examine: look
        priors: [{years: 50, low: 0.3, middle: 0.5, high: 0.7}]
serial_tables:
  - id: numbers
    source: list put together from labels
    confidence: medium
    scope: {maker: Corbel}
    pattern: "(?:No )?(\\\\d{4})"
    ranges:
      - {first: 1000, last: 1999, date: 1916/1917}
      - {first: 1900, last: 2999, date: 1917/1919}
practices:
  - id: shelf-life-years
    value: 3
    low: 2
    high: 4
    unit: years
    source: invoices of one works
    confidence: medium
"""
)


def test_the_built_in_files_read_the_same_by_the_reader_that_users_meet():
    folder = files("ledger.knowledge") / "data"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".yaml"))
    assert tuple(read_pack(folder / name) for name in names) == built_in_packs()


def test_every_row_has_a_source_and_no_row_of_practice_claims_to_be_measured(packs):
    for row in (*packs.rows(Practice), *packs.rows(TraceKind)):
        assert "common practice, no source" in row.row.source


def test_every_caution_defers_to_somebody(packs):
    for row in packs.rows(Caution):
        assert row.row.defer_to


def test_the_shares_of_the_replacement_mix_add_up(packs):
    mix = [packs.practice(f"mix-{kind}").row for kind in ("service", "matching", "transplant")]
    assert sum(row.value for row in mix) == pytest.approx(1)


def test_every_ratio_of_a_trace_is_in_order(packs):
    for row in packs.rows(TraceKind):
        for low, high in (row.row.against_service, row.row.against_matching):
            assert 0 < low <= high, row.id


def test_traces_of_one_occasion_join_and_traces_of_an_event_say_what_they_suggest(packs):
    joining = {row.row.id for row in packs.rows(TraceKind) if row.row.joins}
    assert joining == {"undisturbed-joints", "uniform-later-joints"}
    for name in ("extra-holes", "filled-holes", "repair-foreign", "overspray", "reworked-joint"):
        assert packs.trace_kind(name).row.suggests
    assert packs.trace_kind("no-such-trace") is None


def test_codes_from_memory_are_never_of_high_confidence(packs):
    for row in packs.rows(SourceCode):
        if row.row.source.startswith("from memory"):
            assert row.row.confidence != "high"


def test_a_pack_of_ones_own_extends_a_catalogue_and_adds_a_serial_table(pack_from, mandolin):
    packs = Packs.of((*built_in_packs(), pack_from(EXTENSION)))
    view = packs.catalogue("mandolin")
    assert view.find("arm-rest").parent == "body"
    assert view.reference_of("arm-rest") == "mine/mandolin"
    assert view.reference_of("bridge") == "catalogue-mandolin/mandolin"
    assert [row.id for row in packs.applying(SerialTable, mandolin)] == ["mine/numbers"]


def test_a_later_practice_of_the_same_id_takes_the_place_of_the_built_in_one(pack_from, packs):
    more = Packs.of((*built_in_packs(), pack_from(EXTENSION)))
    assert more.practice("shelf-life-years").id == "mine/shelf-life-years"
    assert more.practice("shelf-life-years").row.value == 3
    assert packs.practice("shelf-life-years").id == "practice/shelf-life-years"
    assert len(more.rows(Practice)) == len(packs.rows(Practice))
    assert more.row("mine/shelf-life-years") is not None
    assert more.row("practice/shelf-life-years") is None


@pytest.mark.parametrize(
    ("maker", "applies"),
    [("Corbel", True), ("  CORBEL ", True), ("corbel works", False), ("", False)],
    ids=["as written", "capitals and spaces", "another name", "no maker"],
)
def test_a_row_speaks_only_of_the_maker_it_names(pack_from, maker, applies):
    packs = Packs.of((*built_in_packs(), pack_from(EXTENSION)))
    instrument = Instrument(id="a", kind="mandolin", name="A", maker=maker)
    assert bool(packs.applying(SerialTable, instrument)) is applies


def test_a_file_with_faults_is_refused_with_all_of_them_and_their_places(pack_from):
    text = EXTENSION.replace("    source: seen on four examples\n", "").replace("3\n", "three\n")
    with pytest.raises(FaultsFound) as refused:
        pack_from(text)
    faults = refused.value.faults
    assert len(faults) == 2
    assert all(fault.line > 1 and fault.file.endswith("mine.yaml") for fault in faults)
    assert "source" in str(faults[0])


def test_a_row_id_used_twice_in_a_file_is_a_fault_with_its_place(pack_from):
    row = "{id: x, source: s, confidence: low, code: '1', company: c, parts: p}"
    with pytest.raises(FaultsFound) as refused:
        pack_from(HEAD + f"source_codes:\n  - {row}\n  - {row}\n")
    (fault,) = refused.value.faults
    assert (fault.line, fault.path) == (7, "source_codes[2].id")


def test_a_file_that_is_not_there_is_a_fault_and_no_traceback(tmp_path):
    with pytest.raises(FaultsFound, match="no such file"):
        read_pack(tmp_path / "none.yaml")


def _catalogue(**changes):
    share = {"years": "50", "low": "0.3", "middle": "0.5", "high": "0.7"}
    root = {"id": "a", "name": "a", "link": "root", "examine": "look", "priors": [share]}
    hung = {**root, "id": "b", "link": "mounted", "parent": "a"}
    base = {"kind": "zither", "name": "zither", "source": "s", "positions": [root, hung]}
    more = changes.pop("more", [])
    base["positions"] = [*base["positions"], *({**hung, **each} for each in more)]
    return PackFile.model_validate(
        {"pack": "p", "title": "t", "version": "1", "catalogues": [{**base, **changes}]}
    )


UNION = {"how": "glue", "priors": [{"years": "1", "low": "0.3", "middle": "0.5", "high": "0.7"}]}


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"more": [{"id": "c", "parent": "nowhere"}]}, "parent: nowhere"),
        ({"more": [{"id": "c", "parent": "d"}, {"id": "d", "parent": "c"}]}, "circle"),
        ({"anchor": "b"}, "anchor"),
        ({"positions": []}, "no root"),
        ({"unions": [{"between": ["a", "b"], **UNION}]}, "a union with 'b'"),
        ({"unions": [{"between": ["a", "a"], **UNION}]}, "union with itself"),
        ({"kind": "mandolim", "extends": "yes"}, "Did you mean mandolin"),
        ({"kind": "mandolin"}, "second catalogue"),
        ({"more": [{"id": "b"}]}, "'b' again"),
        ({"cautions": ["no-such"]}, "the caution 'no-such'"),
        ({"more": [{"id": "c", "cautions": ["no-such"]}]}, "the caution 'no-such'"),
    ],
    ids=[
        "parent that is not there",
        "circle of parents",
        "anchor that is no root",
        "no position at all",
        "union with what is no root",
        "union of a root with itself",
        "extends an unknown kind",
        "describes a known kind again",
        "position named twice",
        "unknown caution of the catalogue",
        "unknown caution of a position",
    ],
)
def test_packs_that_do_not_fit_together_are_refused(changes, word):
    with pytest.raises(FaultsFound, match=word):
        Packs.of((*built_in_packs(), _catalogue(**changes)))


def test_a_new_kind_needs_no_code():
    packs = Packs.of((*built_in_packs(), _catalogue()))
    assert packs.catalogue("zither").anchor == "a"


def test_two_packs_of_one_name_are_refused():
    with pytest.raises(FaultsFound, match="two packs named 'practice'"):
        Packs.of((*built_in_packs(), *(p for p in built_in_packs() if p.pack == "practice")))


def test_what_is_not_there_is_said_with_a_near_name(packs):
    with pytest.raises(UnknownName, match="Did you mean 'mandolin'"):
        packs.catalogue("mandolim")
    with pytest.raises(UnknownName, match="shelf-life-years"):
        packs.practice("shelf-life-year")
    with pytest.raises(UnknownName, match="stored-charge"):
        packs.cautions(["stored-charges"])


def test_cautions_come_once_each_in_the_order_asked_for(packs):
    found = packs.cautions(["lead-solder", "stored-charge", "lead-solder"])
    assert [row.row.id for row in found] == ["lead-solder", "stored-charge"]


def test_the_layouts_of_source_dates_are_those_of_the_first_cut(packs):
    rows = {row.id: row.row for row in packs.rows(MarkLayout)}
    one, two = rows["standards/source-date-3-1-2"], rows["standards/source-date-3-2-2"]
    assert (one.year_digits, one.first_year, one.last_year) == (1, 1940, 1969)
    assert (two.year_digits, two.first_year, two.last_year) == (2, 1950, 2001)


def test_a_pack_that_is_far_too_large_is_refused_without_being_read_whole(tmp_path):
    path = tmp_path / "pack.yaml"
    with path.open("wb") as file:
        file.truncate(200_000_000)  # takes no room on the disk
    tracemalloc.start()
    with pytest.raises(FaultsFound, match="a larger file; expected at most 5,000,000 bytes"):
        read_pack(path)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 20_000_000


def test_a_pipe_is_no_pack_and_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pack.yaml")
    with pytest.raises(FaultsFound, match="a pipe or a device"):
        read_pack(tmp_path / "pack.yaml")
