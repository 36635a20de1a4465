from __future__ import annotations

import pytest


def test_a_mark_is_read_with_every_candidate_and_its_reason(ask):
    page = ask("/marks?text=304+7612").text
    assert "304 7612" in page
    assert "That does not say that it means nothing." in page or "candidate reading" in page


def test_the_form_keeps_what_was_typed_and_shows_hostile_words_as_text(ask, hostile):
    page = ask("/marks", params={"text": hostile, "maker": hostile}).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


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
