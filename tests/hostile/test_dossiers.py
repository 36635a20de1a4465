"""Whatever is handed over as a dossier, verifying it tells what is wrong and never passes it."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.errors import LedgerError
from ledger.record.audit import Trust
from ledger.record.changes import Book, Change, Withheld, commitment
from ledger.record.checkpoints import sign_checkpoint
from ledger.record.documents import (
    PROOF_CLOSES,
    PROOF_OPENS,
    proof_element,
    read_document,
    rest_sha256,
)
from ledger.record.keys import introduction, signing_key
from ledger.record.proofs import make_proof, read_proof, with_document
from ledger.record.store import Ledger
from ledger.record.verification import verify

WHEN = "2026-03-02T10:00:00Z"
KEY = signing_key(bytes(32))
TRUST = Trust(KEY.public_key)
BOUNDED = settings(
    deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

values = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(2**70), 2**70),
        st.floats(),
        st.text(max_size=20),
        st.sampled_from(["", "00" * 32, "00" * 64, "{}", '{"sequence":1}', "\ud800", "9" * 5000]),
    ),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3)
    ),
    max_leaves=5,
)


@pytest.fixture(scope="module")
def dossier(tmp_path_factory):
    """A dossier in JSON of a ledger of four entries, one of them with a value that is shown."""
    book = Book("instrument", "my-mandolin")
    salt = "5" * 32
    hidden = Withheld(commitment(salt, "holder", "A holder"), salt, "holder", "A holder")
    with Ledger.create(tmp_path_factory.mktemp("dossier") / "ledger.db") as ledger:
        ledger.append(introduction(KEY, {}), recorder="me", recorded_at=WHEN)
        body = {"id": "first", "holder": {"withheld": hidden.commitment}}
        ledger.append(
            [
                Change("record", book, "custody", "first", body, (hidden,)),
                *(
                    Change("record", book, "marks", f"m-{at}", {"id": f"m-{at}", "text": "3 14"})
                    for at in range(2)
                ),
            ],
            recorder="me",
            recorded_at=WHEN,
        )
        sign_checkpoint(ledger, KEY, WHEN)
        shown = {"commitment": hidden.commitment, "salt": salt, "field": "holder"}
        rest = {"title": "A mandolin <b>", "says": ["completed not before 1917"], "n": 1.5}
        proof = make_proof(ledger, range(2, 5), [{**shown, "value": "A holder"}])
        return {**rest, "proof": with_document(proof, rest_sha256(rest), KEY)}


@pytest.fixture(scope="module")
def checked(tmp_path_factory):
    """Verifies bytes; gives all that it has to say against them, or the sentence of the refusal."""
    path = tmp_path_factory.mktemp("handed") / "dossier"

    def check(data):
        path.write_bytes(data)
        try:
            audit = verify(path, TRUST)
            notes = [note for step in audit.steps for note in step.notes]
            return [*map(str, audit.faults), *notes]
        except LedgerError as error:
            return [str(error)]

    return check


def _places(value, path=()):
    if path:
        yield path
    pairs = value.items() if isinstance(value, dict) else ()
    for key, inner in enumerate(value) if isinstance(value, list) else pairs:
        yield from _places(inner, (*path, key))


def _changed(value, path, new):
    if not path:
        return new
    made = dict(value) if isinstance(value, dict) else list(value)
    made[path[0]] = _changed(made[path[0]], path[1:], new)
    return made


def test_the_dossier_as_it_is_has_no_fault(dossier, checked):
    assert checked(json.dumps(dossier).encode()) == []


@BOUNDED
@given(data=st.data())
def test_any_value_at_any_place_of_a_dossier_is_told(dossier, checked, data):
    path = data.draw(st.sampled_from(list(_places(dossier))), "place")
    changed = _changed(dossier, path, data.draw(values, "value"))
    told = checked(json.dumps(changed).encode())
    # Of what is only shown beside, less may be handed on; nothing may be other than it was.
    if not told:
        assert rest_sha256(changed) == rest_sha256(dossier)
        before, after = _proved(dossier), _proved(changed)
        assert after.entries.items() <= before.entries.items()
        assert after.opened.items() <= before.opened.items()
        assert after.signed == before.signed


@BOUNDED
@given(data=st.data())
def test_a_dossier_without_one_of_its_parts_or_with_another_is_told(dossier, checked, data):
    objects = [()] + [path for path in _places(dossier) if isinstance(_at(dossier, path), dict)]
    path = data.draw(st.sampled_from(objects), "object")
    found = dict(_at(dossier, path))
    if data.draw(st.booleans(), "drops"):
        del found[data.draw(st.sampled_from(sorted(found)), "name")]
    else:
        name = data.draw(st.text(max_size=9).filter(lambda name: name not in found), "name")
        found[name] = data.draw(values, "value")
    assert checked(json.dumps(_changed(dossier, path, found)).encode())


def _at(value, path):
    for step in path:
        value = value[step]
    return value


@BOUNDED
@given(
    st.one_of(
        st.binary(max_size=200),
        st.tuples(
            st.sampled_from([b"{", b"<", b" \n<", b"[", b"SQLite format 3\x00", b"\xef\xbb\xbf{"]),
            st.binary(max_size=200),
        ).map(b"".join),
        st.lists(
            st.sampled_from(
                [PROOF_OPENS, PROOF_CLOSES, "{", "}", "[", '"proof":', '"witnessmark_proof":1', ","]
            ),
            max_size=12,
        ).map(lambda parts: ("<" + "".join(parts)).encode()),
    )
)
def test_any_bytes_are_refused_in_a_sentence(checked, data):
    assert checked(data)


def test_what_is_nested_without_end_is_refused_in_a_sentence(checked):
    for data in (
        b'{"proof":' + b"[" * 200_000,
        b"{" + b'"a":{' * 200_000,
        f"<p>{PROOF_OPENS}{'[' * 200_000}{PROOF_CLOSES}".encode(),
        b'{"proof":' + b"9" * 200_000 + b"}",
        b'{"proof":1,"n":1e999999}',
        b'{"proof":1,"n":NaN}',
    ):
        (told,) = checked(data)
        assert "a document with a proof" in told or "a JSON object" in told


@BOUNDED
@given(data=st.data())
def test_a_page_that_was_changed_anywhere_is_told(dossier, checked, data):
    before, after = "<!doctype html><p>A mandolin.</p>", "<p>No more.</p>"
    hashed = read_document((before + proof_element({"a": 1}) + after).encode()).sha256
    bare = {name: each for name, each in dossier["proof"].items() if name != "document"}
    page = (before + proof_element(with_document(bare, hashed, KEY)) + after).encode()
    assert checked(page) == []
    at = data.draw(st.integers(0, len(page) - 1), "at")
    put = data.draw(st.binary(max_size=6), "put")
    gone = data.draw(st.integers(0, 6), "gone")
    changed = page[:at] + put + page[at + gone :]
    told = checked(changed)
    # Blanks within the proof, and other ways to write the same JSON, say nothing else.
    assert bool(told) or _said(changed) == _said(page)


def _proved(dossier):
    return read_proof(dossier["proof"], TRUST, rest_sha256(dossier))


def _said(page):
    begin, end = page.index(PROOF_OPENS.encode()), page.rindex(PROOF_CLOSES.encode())
    inner = json.loads(page[begin + len(PROOF_OPENS) : end])
    return page[:begin], inner, page[end:]
