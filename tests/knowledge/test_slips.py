"""Days of marks with one glyph taken for another, against reading every such mark as a whole."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Spans
from ledger.knowledge.glyphs import read_glyphs
from ledger.knowledge.marks import mark_readings
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.knowledge.slips import NO_SLIPS, slips_of, taken_for
from ledger.models import Instrument, Mark
from ledger.references import Confusion

PACKS = Packs.of(built_in_packs())
KIND = "source date"
OWNER = Instrument(id="tiny", kind="solid-body-electric", name="T", maker="M")


def mark(text, position="pot.1", **more):
    return Mark(id="m", source="s", position=position, text=text, **more)


def by_reading_all(given_mark, row, kind):
    """Every text with one glyph changed, read as any mark is."""
    pairs = [each.row.glyphs for each in PACKS.rows(Confusion)]
    glyphs = [glyph.written for glyph in read_glyphs(given_mark.text)]
    found = []
    for at, glyph in enumerate(glyphs):
        for one, other in (*pairs, *(pair[::-1] for pair in pairs)):
            if one == glyph:
                text = "".join((*glyphs[:at], other, *glyphs[at + 1 :]))
                read = mark_readings(
                    given_mark.model_copy(update={"text": text}), row, PACKS, OWNER
                )
                used = [each for each in read if each.is_used and each.kind == kind]
                days = Spans.of(span for each in used for span in each.spans)
                taken = {*(b for a, b in pairs if a == other), *(a for a, b in pairs if b == other)}
                ways = sum(each.isdigit() == glyph.isdigit() for each in taken)
                found.append((1 / ways, days))
    return tuple((share, days) for share, days in found if days)


figures = st.text("0123456789?", min_size=2, max_size=4)
texts = st.builds(
    lambda source, between, dated, after: source + between + dated + after,
    st.text("0123456789OSBI", min_size=2, max_size=4),
    st.sampled_from(["", " ", "-", " - ", "."]),
    figures,
    st.sampled_from(["", "A", "B", "S", "[38]"]),
)


@settings(max_examples=120)
@given(
    text=texts,
    scheme=st.sampled_from([None, None, None, "source-date", "none"]),
    reads=st.sampled_from([None, None, None, "1955"]),
    position=st.sampled_from(["pot.1", "neck", "pickup.neck", "body"]),
)
def test_days_from_the_figures_are_those_of_reading_every_changed_mark(
    text, scheme, reads, position
):
    given_mark = mark(text, position, scheme=scheme, reads=reads)
    row = PACKS.catalogue(OWNER.kind).find(position)
    for kind in ("source date", "date code", "serial"):
        found = slips_of(given_mark, row, PACKS, OWNER, kind)
        assert found.told == by_reading_all(given_mark, row, kind)


def test_a_date_in_words_has_no_slips_of_glyphs():
    row = PACKS.catalogue(OWNER.kind).find("pot.1")
    given_mark = mark("May 1955", reads="1955-05")
    assert slips_of(given_mark, row, PACKS, OWNER, "written") == NO_SLIPS


def test_figures_are_taken_for_one_another_both_ways():
    assert "8" in taken_for(PACKS)["3"]
    assert "3" in taken_for(PACKS)["8"]


@pytest.mark.parametrize(
    ("text", "count"),
    # By hand: four of the source, years 52, 92 and 67 (2002 is past the layout), weeks 38 and 36.
    [("137 6230", 9), ("not a code", 0)],
    ids=["a code", "no code"],
)
def test_every_slip_that_tells_days_is_told_once(text, count):
    row = PACKS.catalogue(OWNER.kind).find("pot.1")
    found = slips_of(mark(text), row, PACKS, OWNER, "source date")
    assert len(found.told) == count


@pytest.mark.parametrize(
    ("text", "count"),
    [("137 6230", 7), ("137 62[38]0", 6), ("137 62?0", 6), ("BOLT", 2)],
    ids=["figures", "a glyph of two", "a glyph that is lost", "letters"],
)
def test_only_glyphs_taken_for_one_certain_glyph_can_be_misread(text, count):
    row = PACKS.catalogue(OWNER.kind).find("pot.1")
    assert slips_of(mark(text), row, PACKS, OWNER, "source date").glyphs == count


def test_a_glyph_taken_for_several_is_taken_for_each_of_its_kind_as_often():
    # By hand: a 4 is taken for a 9 alone, a 6 for a 9, a 5 or a 0; so week 9 was week 4 three times
    # as often as week 6.
    row = PACKS.catalogue(OWNER.kind).find("pot.1")
    told = {days: share for share, days in slips_of(mark("137 6209"), row, PACKS, OWNER, KIND).told}
    weeks = {
        text: Spans.of(
            span
            for each in mark_readings(mark(text), row, PACKS, OWNER)
            if each.is_used and each.kind == KIND
            for span in each.spans
        )
        for text in ("137 6204", "137 6206")
    }
    assert told[weeks["137 6204"]] == pytest.approx(1)
    assert told[weeks["137 6206"]] == pytest.approx(1 / 3)
