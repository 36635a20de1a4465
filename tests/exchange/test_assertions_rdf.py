"""What is told comes back as it was told, through every format that keeps named graphs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.exchange.assertions_rdf import read_set, set_quads
from ledger.exchange.rdf import FORMATS, read_quads, written
from ledger.exchange.statements import (
    SLOTS,
    Checkpoint,
    Told,
    ToldInstrument,
    ToldSet,
    ToldShown,
    told_instrument,
)

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
IDS = st.from_regex(r"[a-z0-9]+([._-][a-z0-9]+)?", fullmatch=True)
DATES = st.sampled_from(["1955", "1955-06", "1955~", "../1949", "[1947,1949]", "194X"])
HASHES = st.from_regex(r"[0-9a-f]{64}", fullmatch=True)
GRAPHS = [name for name, form in FORMATS.items() if form.has_graphs]


def _values_of(manner):
    if manner == "text":
        return TEXTS
    if manner == "date":
        return DATES
    if manner == "reference":
        return st.tuples(IDS, IDS).map("/".join)
    return TEXTS if manner in ("finding", "supposition") else IDS


@st.composite
def lines(draw, name, sequence):
    section = draw(st.sampled_from(sorted(SLOTS)))
    fields = draw(st.sets(st.sampled_from(sorted(SLOTS[section]))))
    values = [
        (field, draw(st.sets(_values_of(SLOTS[section][field].manner), min_size=1, max_size=3)))
        for field in sorted(fields)
    ]
    shown = st.builds(ToldShown, IDS, TEXTS, TEXTS, st.sampled_from(["yes", "no"]))
    return Told(
        id=name,
        section=section,
        title=draw(TEXTS),
        sentence=draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=20)),
        sequence=sequence,
        hash=draw(HASHES),
        values=tuple((field, tuple(sorted(found))) for field, found in values),
        withheld=tuple(sorted(draw(st.sets(st.sampled_from(["note", "holder", "by"]))))),
        shows=tuple(draw(st.lists(shown, max_size=2)) if section == "sightings" else ()),
        sha256=draw(st.one_of(st.just(""), HASHES)),
    )


@st.composite
def told_sets(draw):
    numbers = iter(range(1, 1000))
    instruments = []
    for name in sorted(draw(st.sets(IDS, min_size=1, max_size=2))):
        ids = sorted(draw(st.sets(IDS, max_size=4)))
        of_it = tuple(draw(lines(each, next(numbers))) for each in ids)
        words = (draw(TEXTS), draw(IDS), draw(st.just("") | TEXTS), draw(st.just("") | TEXTS))
        is_so = draw(st.booleans()), draw(st.booleans())
        instruments.append(ToldInstrument(name, *words, is_so[0], of_it, is_so[1]))
    checkpoint = Checkpoint(draw(st.integers(0, 10**9)), draw(HASHES), "2026-03-02T10:00:00Z")
    base = draw(st.sampled_from(["https://a.example/", "http://b.example:8140/site/"]))
    return ToldSet(base, checkpoint, tuple(instruments))


@pytest.mark.parametrize("form", GRAPHS)
@settings(max_examples=40)
@given(told=told_sets())
def test_what_is_told_comes_back_through_a_file_as_it_was_told(form, told):
    quads = tuple(sorted(set(set_quads(told))))
    content = written(quads, form)
    assert read_quads(content, FORMATS[form].ending) == quads
    assert read_set(quads) == told


def test_the_samples_come_back_as_they_were_told(samples):
    told = ToldSet(
        "https://witnessmark.example/",
        Checkpoint(7, "ab" * 32),
        tuple(told_instrument(one.case, one.report) for _, one in sorted(samples.items())),
    )
    assert read_set(set_quads(told)) == told


def test_quads_without_a_set_or_with_two_are_no_set():
    assert read_set([]) is None
    two = [ToldSet(base, Checkpoint(0, ""), ()) for base in ("http://a.example/", "http://b.ex/")]
    assert read_set([quad for each in two for quad in set_quads(each)]) is None


def test_each_line_is_four_graphs_that_name_one_another(samples):
    one = samples["whinchat-mandolin"]
    told = ToldSet(
        "https://b.example/", Checkpoint(1, ""), (told_instrument(one.case, one.report),)
    )
    quads = set(set_quads(told))
    graphs = {graph for graph, _, _, _ in quads}
    for line in one.case.lines:
        here = f"https://b.example/instrument/whinchat-mandolin/line/{line}"
        for part in ("head", "assertion", "provenance", "publication"):
            assert f"<{here}#{part}>" in graphs
