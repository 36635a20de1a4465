from __future__ import annotations

import pyoxigraph as ox
import pytest

from ledger.exchange.ontology import terms


def test_every_term_has_a_page_that_explains_it(ask):
    for term in terms()[::10]:
        answer = ask(f"/term/{term.name}")
        assert answer.status_code == 200
        assert f"<h1>{term.label}</h1>" in answer.text
        assert term.iri in answer.text


def test_all_terms_are_on_one_page_with_and_without_the_slash(ask):
    page = ask("/term/").text
    assert page == ask("/term").text
    for term in terms():
        assert f'id="{term.name}"' in page


def test_the_ontology_is_served_as_it_is(ask):
    answer = ask("/term.ttl")
    assert answer.headers["content-type"] == "text/turtle; charset=utf-8"
    assert list(ox.parse(answer.content, format=ox.RdfFormat.TURTLE))


@pytest.mark.parametrize(
    ("path", "place"),
    [
        pytest.param(
            "/instrument/corbel-lap-steel/line/pot-code",
            "/witnessmark/line/corbel-lap-steel~2Fpot-code",
            id="line",
        ),
        pytest.param("/entry/2", "/witnessmark/entry/2", id="entry"),
        pytest.param("/rule/made-before-fitted", "/words", id="rule"),
    ],
)
def test_a_name_leads_to_where_the_thing_is_shown(ask, path, place):
    answer = ask(path)
    assert (answer.status_code, answer.headers["location"]) == (303, place)
    assert ask(path, follow_redirects=True).status_code == 200


def test_what_is_no_term_is_not_there(ask):
    assert ask("/term/Nothing").status_code == 404
