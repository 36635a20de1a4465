from __future__ import annotations

import hashlib
from dataclasses import fields, replace

import pytest

from ledger.record.entries import FIRST_PREVIOUS, Entry, entry_hash

ENTRY = Entry(
    sequence=1,
    recorded_at="2026-03-02T10:00:00Z",
    recorder="examiner A",
    act="record",
    book_kind="instrument",
    book="a",
    section="marks",
    line="m",
    body={"text": "é", "id": "m", "n": 1.0},
    previous=FIRST_PREVIOUS,
    hash="",
)


def test_the_hash_is_the_sha256_of_the_canonical_json():
    # Written out by hand by the rules of RFC 8785: keys in order, no spaces, 1.0 as 1.
    canonical = (
        '{"act":"record","body":{"id":"m","n":1,"text":"é"},"book":"a","book_kind":"instrument",'
        f'"line":"m","previous":"{"0" * 64}","recorded_at":"2026-03-02T10:00:00Z",'
        '"recorder":"examiner A","section":"marks","sequence":1}'
    )
    assert entry_hash(ENTRY) == hashlib.sha256(canonical.encode()).hexdigest()


@pytest.mark.parametrize("name", [field.name for field in fields(Entry)])
def test_everything_but_the_hash_itself_is_hashed(name):
    changed = {"sequence": 2, "body": None}.get(name, "x")
    is_same = entry_hash(replace(ENTRY, **{name: changed})) == entry_hash(ENTRY)
    assert is_same == (name == "hash")
