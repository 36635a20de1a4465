from __future__ import annotations

import pyoxigraph as ox
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.exchange import iris

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXTS)
def test_a_text_comes_back_from_its_literal_and_is_spelt_as_the_store_spells_it(said):
    literal = iris.text(said)
    assert iris.plain(literal) == said
    (found,) = ox.parse(f"<a:s> <a:p> {literal} .", format=ox.RdfFormat.N_TRIPLES)
    assert found.object.value == said
    assert str(found.object) == literal


@given(TEXTS, TEXTS)
def test_a_name_is_an_iri_and_gives_its_ids_back(instrument, name):
    names = iris.Names()
    for made in (
        names.line(instrument, name),
        names.part_of(instrument, "supposition", name),
        names.finding(instrument, name),
        names.reference(name),
    ):
        assert str(ox.NamedNode(made[1:-1])) == made
    beginning = f"<{names.address(instrument)}/line/"
    assert iris.ending(names.line(instrument, name), beginning) == name


@given(st.dates())
def test_the_number_of_a_day_counts_from_1970(day):
    number = int(iris.plain(iris.day_number(day.isoformat())))
    assert number == (day - day.replace(year=1970, month=1, day=1)).days


@pytest.mark.parametrize(
    ("premise", "name"),
    [
        pytest.param("line:code", "instrument/a/line/code", id="line"),
        pytest.param("line:a/code", "instrument/a/line/code", id="full-id-of-a-line"),
        pytest.param("reference:pack/row", "reference/pack/row", id="row"),
        pytest.param("state.neck", "instrument/a/finding/state.neck", id="finding"),
    ],
)
def test_a_premise_has_the_name_of_what_it_is(premise, name):
    assert iris.Names("https://b.example/").premise("a", premise) == f"<https://b.example/{name}>"


@pytest.mark.parametrize("base", ["", "b.example/", "https://b.example", "https://b ex/", "x:/"])
def test_what_cannot_begin_a_name_is_no_base(base):
    assert not iris.is_base(base)
