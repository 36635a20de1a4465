"""Days of marks with one glyph taken for another, against reading every such mark as a whole."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.basis.spans import Spans
from ledger.knowledge.glyphs import read_glyphs
from ledger.knowledge.marks import mark_readings
from ledger.knowledge.packs import Packs, built_in_packs
from ledger.knowledge.slips import days_if_misread, taken_for
from ledger.models import Instrument, Mark
from ledger.references import Confusion

PACKS = Packs.of(built_in_packs())
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
                found.append(Spans.of(span for each in used for span in each.spans))
    return tuple(days for days in found if days)


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
        found = days_if_misread(given_mark, row, PACKS, OWNER, kind)
        assert found == by_reading_all(given_mark, row, kind)


def test_a_date_in_words_has_no_slips_of_glyphs():
    row = PACKS.catalogue(OWNER.kind).find("pot.1")
    assert days_if_misread(mark("May 1955", reads="1955-05"), row, PACKS, OWNER, "written") == ()


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
    found = days_if_misread(mark(text), row, PACKS, OWNER, "source date")
    assert len(found) == count
