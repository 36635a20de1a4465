from __future__ import annotations

import asyncio
from dataclasses import replace

import pytest

from ledger.publish.site import datasette_for
from ledger.publish.sitedb import publish_site
from ledger.references import PackFile


def corbel_numbers(**sections):
    head = {
        "pack": "corbel-numbers",
        "title": "Numbers of the invented maker Corbel",
        "version": "1",
    }
    return PackFile.model_validate({**head, "invented": "yes", **sections})


def test_a_mark_is_read_with_every_candidate_and_its_reason(ask):
    page = ask("/marks?text=304+7612").text
    assert "304 7612" in page
    assert "That does not say that it means nothing." in page or "candidate reading" in page


def test_the_form_keeps_what_was_typed_and_shows_hostile_words_as_text(ask, hostile):
    page = ask("/marks", params={"text": hostile, "maker": hostile}).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_a_table_of_one_model_is_tried_where_the_model_is_told(tmp_path, publication):
    pack = corbel_numbers(
        serial_tables=[
            {
                "id": "numbers",
                "source": "invented",
                "confidence": "medium",
                "scope": {"maker": "Corbel", "model": "Parlour"},
                "pattern": r"C ?(\d{3,4})",
                "bears_on": "completed",
                "ranges": [{"first": "1", "last": "900", "date": "1946"}],
            }
        ]
    )
    site = datasette_for(
        publish_site(tmp_path / "s", replace(publication, packs=[*publication.packs, pack]))
    )

    def asked(**given):
        return asyncio.run(site.client.get("/marks", params={"text": "C 624", **given})).text

    assert "No row of this site reads it" in asked(maker="Corbel")
    read = asked(maker="Corbel", model="Parlour")
    assert "number 624" in read
    assert 'name="model" value="Parlour"' in read


@pytest.mark.parametrize(
    "query",
    [
        pytest.param("text=" + "%3F" * 200, id="nothing legible, at length"),
        pytest.param("text=" + "[0123456789]" * 60, id="every figure, at length"),
        pytest.param("text=304+7612&kind=no-such-kind&position=pot", id="unknown kind"),
        pytest.param("text=%00%E2%80%AE", id="nothing visible"),
        pytest.param("", id="nothing"),
    ],
)
def test_whatever_is_typed_is_answered(ask, query):
    assert ask(f"/marks?{query}").status_code == 200


@pytest.mark.parametrize("kind", ["Not A Kind", "no-such-kind", "é"])
def test_a_kind_that_no_pack_describes_is_said_on_the_page(ask, kind):
    answer = ask("/marks", params={"text": "134 448", "kind": kind})
    assert answer.status_code == 200
    assert "There is no kind of instrument named" in answer.text
