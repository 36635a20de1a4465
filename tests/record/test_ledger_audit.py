"""A ledger that was tampered with, in every way that could be thought of, and what is told."""

# ruff: noqa: S608 - the statements are the test's own
from __future__ import annotations

import random
import shutil
import sqlite3

import pytest

from ledger.record import chain, ledger_audit
from ledger.record.audit import Trust
from ledger.record.changes import LEDGER_BOOK, Book, Change
from ledger.record.checkpoints import read_checkpoint, sign_checkpoint, write_checkpoint
from ledger.record.entries import entry_from_content
from ledger.record.keys import introduction, keys_in, last_note, revocation, rotation, signing_key
from ledger.record.ledger_audit import audit_ledger
from ledger.record.store import Ledger

TIME = "2026-03-02T10:00:00Z"
KEY = signing_key(bytes(32))
THIEF = signing_key(bytes([7] * 32))
TRUST = Trust(KEY.public_key)
FLIPS = 1000


_MADE = {}


@pytest.fixture
def signed(request, tmp_path):
    """A ledger with exhibit, withheld values, an edit, a key and a checkpoint; closed.

    It is made once and copied after that.
    """
    path = tmp_path / "ledger.db"
    if not _MADE:
        names = ("ledger", "record", "mandolin", "picture")
        ledger, record, mandolin, picture = map(request.getfixturevalue, names)
        (tmp_path / "plate.png").write_bytes(picture(size=(60, 40)))
        text = mandolin + "exhibits:\n- {id: plate, caption: The plate, file: plate.png}\n"
        ledger.append(introduction(KEY, {}), recorder="examiner A", recorded_at=TIME)
        record(ledger, text)
        record(ledger, text.replace("May 1917", 'May "1919" \\ é'))
        sign_checkpoint(ledger, KEY, TIME)
        ledger.close()
        connection = sqlite3.connect(path)
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.close()
        _MADE["bytes"] = path.read_bytes()
    path.write_bytes(_MADE["bytes"])
    return path


def _told(path, trust=TRUST):
    return [
        (step.name, str(fault)) for step in audit_ledger(path, trust).steps for fault in step.faults
    ]


def _steps(path, trust=TRUST):
    return sorted({name for name, _ in _told(path, trust)})


def _change(path, *statements, keeping_guards=True):
    """Change the file behind the program's back, as anybody can who may write to it."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA ignore_check_constraints = ON")
    connection.execute("PRAGMA journal_mode = MEMORY")
    guards = connection.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
    ).fetchall()
    for name, _ in guards:
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute("PRAGMA synchronous = OFF")
    for statement in statements:
        connection.execute(statement)
    if keeping_guards:
        for _, sql in guards:
            connection.execute(sql)
    connection.close()


def test_a_ledger_as_it_was_recorded_has_no_fault(signed):
    found = audit_ledger(signed, TRUST)
    assert found.is_whole
    assert [step.name for step in found.steps] == [
        "file",
        "tables",
        "chain",
        "keys",
        "checkpoints",
        "trust",
        "exhibits",
        "withheld",
        "erased",
    ]
    assert [step.notes for step in found.steps if step.notes] == []
    assert found.steps[5].says == "Entries 1 to 8 are signed for."


TAMPERED = {
    "an entry edited": (
        "UPDATE entry SET recorder = 'x' WHERE sequence = 3",
        ["chain", "checkpoints"],
    ),
    "a body edited": (
        "UPDATE entry SET body = replace(body, '1917', '1927') WHERE sequence = 5",
        ["chain", "checkpoints"],
    ),
    "a body that is no JSON": (
        "UPDATE entry SET body = 'none' WHERE sequence = 4",
        ["chain", "checkpoints"],
    ),
    "a body written otherwise": (
        "UPDATE entry SET body = replace(body, ',', ', ') WHERE sequence = 4",
        ["chain", "checkpoints"],
    ),
    "an entry dropped": ("DELETE FROM entry WHERE sequence = 3", ["chain", "checkpoints"]),
    "the last dropped": ("DELETE FROM entry WHERE sequence = 8", ["checkpoints"]),
    "the first dropped": (
        "DELETE FROM entry WHERE sequence = 1",
        ["chain", "checkpoints", "trust"],
    ),
    "a hash edited": (
        "UPDATE entry SET hash = replace(hash, 'a', 'b') WHERE sequence = 3",
        ["chain"],
    ),
    "a link edited": (
        "UPDATE entry SET previous = replace(previous, 'a', 'b') WHERE sequence = 3",
        ["chain", "checkpoints"],
    ),
    "an entry renumbered": (
        "UPDATE entry SET sequence = 99 WHERE sequence = 8",
        ["chain", "checkpoints"],
    ),
    "a checkpoint dropped": ("DELETE FROM checkpoint", ["trust"]),
    "a checkpoint of another size": ("UPDATE checkpoint SET size = 5", ["checkpoints"]),
    "a signature edited": (
        "UPDATE checkpoint SET signature = replace(signature, 'a', 'b')",
        ["checkpoints"],
    ),
    "a root edited": (
        "UPDATE checkpoint SET content = replace(content, '\"size\":8', '\"size\":7')",
        ["checkpoints"],
    ),
    "a checkpoint that is none": ("UPDATE checkpoint SET content = '[]'", ["checkpoints"]),
    "an exhibit replaced": ("UPDATE exhibit SET content = x'00', size_bytes = 1", ["exhibits"]),
    "an exhibit dropped": ("DELETE FROM exhibit", ["exhibits"]),
    "an exhibit renamed": (
        (
            "UPDATE exhibit SET content = x'61', size_bytes = 1, media_type = 'text/plain', "
            "sha256 = 'ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e72b9807785afee48bb'"
        ),
        ["exhibits"],
    ),
    "another kind of file noted": ("UPDATE exhibit SET media_type = 'image/jpeg'", ["exhibits"]),
    "another size noted": ("UPDATE exhibit SET size_bytes = 5", ["exhibits"]),
    "a withheld value edited": (
        "UPDATE withheld SET value = '\"x\"' WHERE field = 'holder'",
        ["withheld"],
    ),
    "a withheld value that is no JSON": ("UPDATE withheld SET value = 'x'", ["withheld"]),
    "a salt edited": ("UPDATE withheld SET salt = replace(salt, 'a', 'b')", ["withheld"]),
    "a withheld value moved": ("UPDATE withheld SET line = 'other'", ["withheld"]),
    "a withheld value dropped": ("DELETE FROM withheld WHERE field = 'place'", ["withheld"]),
    "a withheld value of no entry": (
        (
            "INSERT INTO withheld "
            "SELECT '44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a', "
            "salt, value, book, line, field FROM withheld LIMIT 1"
        ),
        ["withheld"],
    ),
    "an erasure left undone": ("INSERT INTO residue VALUES (1)", ["erased"]),
    "an index dropped": ("DROP INDEX entry_by_book", ["tables"]),
    "a table of its own": ("CREATE TABLE mine (x)", ["tables"]),
    "another format": ("PRAGMA user_version = 9", ["file"]),
    "no ledger any more": ("PRAGMA application_id = 9", ["file"]),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_what_was_done_to_it_is_told(signed, name):
    statement, steps = TAMPERED[name]
    _change(signed, statement)
    assert _steps(signed) == steps


def test_every_fault_is_told_with_its_entry(signed):
    _change(
        signed,
        "UPDATE entry SET recorder = 'x' WHERE sequence IN (3, 5)",
        "DELETE FROM entry WHERE sequence = 7",
    )
    told = [fault for name, fault in _told(signed) if name == "chain"]
    assert [fault.split(":")[0] for fault in told] == ["entry 3", "entry 5", "entry 7", "entry 8"]
    assert "expected an entry of that number; found nothing" in told[2]


def test_a_guard_that_was_dropped_is_missed(signed):
    _change(signed, "UPDATE entry SET recorder = 'x' WHERE sequence = 3", keeping_guards=False)
    told = _told(signed)
    assert (
        "tables",
        "the trigger entry_is_never_changed: expected as this program makes it; found nothing of that name",
    ) in told
    assert "chain" in _steps(signed)


def test_two_entries_that_changed_places_are_told(signed):
    columns = "recorded_at, recorder, act, book_kind, book, section, line, body, hash"
    _change(
        signed,
        "CREATE TABLE spare AS SELECT * FROM entry WHERE sequence IN (3, 4)",
        *(
            f"UPDATE entry SET ({columns}) = (SELECT {columns} FROM spare WHERE sequence = {other}) "
            f"WHERE sequence = {own}"
            for own, other in ((3, 4), (4, 3))
        ),
        "DROP TABLE spare",
    )
    assert _steps(signed) == ["chain", "checkpoints"]


def _written_anew(path, key):
    """A whole new chain in which one word is another, signed by ``key``."""
    with Ledger.open(path, read_only=True) as ledger:
        entries = ledger.entries()
        kept = {each.commitment: each for each in ledger.withheld()}
    other = path.parent / "anew.db"
    with Ledger.create(other) as made:
        made.append(introduction(key, {}), recorder="examiner A", recorded_at=TIME)
        for entry in entries[1:]:
            change = Change(
                entry.act, Book(entry.book_kind, entry.book), entry.section, entry.line, entry.body,
                replaces=3 if entry.act == "supersede" else 0,
            )  # fmt: skip
            if entry.act == "record" and entry.section == "marks":
                change.body["note"] = "as I would have it"
            if change.replaces:
                standing = [e for e in made.entries() if e.line == entry.line]
                change = Change(
                    change.act, change.book, change.section, change.line, change.body,
                    replaces=standing[-1].sequence,
                )  # fmt: skip
            made.append([change], recorder="examiner A", recorded_at=TIME)
        sign_checkpoint(made, key, TIME)
    assert kept
    return other


def test_a_ledger_that_was_written_anew_is_told_by_the_key_and_by_a_kept_checkpoint(
    signed, tmp_path
):
    with Ledger.open(signed, read_only=True) as ledger:
        kept = sign_checkpoint(ledger, KEY, TIME)
    write_checkpoint(kept, tmp_path / "kept.json")
    forged = _written_anew(signed, THIEF)
    by_key = [fault for name, fault in _told(forged) if name == "trust"]
    assert by_key == [f"the checkpoints: expected one by the key {KEY.public_key}; found none"]
    trust = Trust(kept=(read_checkpoint(tmp_path / "kept.json"),))
    by_checkpoint = [fault for name, fault in _told(forged, trust) if name == "trust"]
    assert any("one of those entries is not what it was then" in fault for fault in by_checkpoint)
    # Without either it cannot be told, and that is said.
    found = audit_ledger(forged)
    assert [name for name, _ in _told(forged, Trust())] == ["exhibits"] + ["withheld"] * 2
    assert any("written all of it anew" in note for step in found.steps for note in step.notes)


def test_a_ledger_that_was_signed_again_by_a_key_it_does_not_know_is_told(signed):
    with Ledger.open(signed) as ledger:
        ledger.append(
            [Change("record", Book("instrument", "my-mandolin"), "marks", "new", {"id": "new"})],
            recorder="me",
            recorded_at=TIME,
        )
        sign_checkpoint(ledger, THIEF, TIME)
    (told,) = [fault for name, fault in _told(signed) if name == "checkpoints"]
    assert told.endswith(f"expected a key that the ledger notes; found the key {THIEF.id}")


def test_a_ledger_rolled_back_to_an_earlier_file_is_told_by_a_kept_checkpoint(signed, tmp_path):
    earlier = tmp_path / "earlier.db"
    shutil.copy(signed, earlier)
    with Ledger.open(signed) as ledger:
        ledger.append(
            [Change("record", Book("instrument", "my-mandolin"), "marks", "new", {"id": "new"})],
            recorder="me",
            recorded_at=TIME,
        )
        kept = sign_checkpoint(ledger, KEY, TIME)
    trust = Trust(KEY.public_key, (kept,))
    assert audit_ledger(signed, trust).is_whole
    (told,) = _told(earlier, trust)
    assert "expected at least 9 entries; found 8" in told[1]
    assert "older than the checkpoint, or was cut" in told[1]


def test_a_kept_checkpoint_that_was_itself_changed_or_is_by_another_is_told(signed):
    with Ledger.open(signed, read_only=True) as ledger:
        kept = sign_checkpoint(ledger, KEY, TIME)
    bad = type(kept)(kept.checkpoint, "00" * 64, kept.public_key)
    assert [name for name, _ in _told(signed, Trust(KEY.public_key, (bad,)))] == ["trust"]
    by_thief = type(kept)(kept.checkpoint, kept.signature, THIEF.public_key)
    assert [name for name, _ in _told(signed, Trust("", (by_thief,)))] == ["trust"]
    elsewhere = Trust(THIEF.public_key, (kept,))
    assert [name for name, _ in _told(signed, elsewhere)] == ["trust", "trust"]


def test_what_a_retired_or_revoked_key_signs_later_does_not_count(signed):
    second = signing_key(bytes([1] * 32))
    with Ledger.open(signed) as ledger:
        last = last_note(ledger.entries(), KEY.id)
        ledger.append(rotation(KEY, second, last), recorder="me", recorded_at=TIME)
        sign_checkpoint(ledger, second, TIME)
        assert audit_ledger(signed, TRUST).is_whole
        sign_checkpoint(ledger, KEY, TIME)
    (told,) = _told(signed)
    assert told[0] == "checkpoints"
    assert "a key that signed from entry 1 to entry 8" in told[1]
    with Ledger.open(signed) as ledger:
        notes = ledger.entries(LEDGER_BOOK)
        changes = revocation(second.id, keys_in(notes), "taken", 9, last_note(notes, second.id))
        ledger.append(changes, recorder="me", recorded_at=TIME)
    found = audit_ledger(signed, Trust(second.public_key))
    (trust,) = [step for step in found.steps if step.name == "trust"]
    assert [str(fault) for fault in trust.faults] == [
        f"the checkpoints: expected one by the key {second.public_key}; found none"
    ]


def test_what_comes_after_the_checkpoint_is_said_to_be_unsigned(signed):
    with Ledger.open(signed) as ledger:
        ledger.append(
            [Change("record", Book("instrument", "my-mandolin"), "marks", "new", {"id": "new"})],
            recorder="me",
            recorded_at=TIME,
        )
    found = audit_ledger(signed, TRUST)
    assert found.is_whole
    assert found.steps[5].notes == (
        "Entries 9 to 9 are under no checkpoint signed by a key that is trusted.",
    )


def test_something_erased_that_is_there_again_is_told(signed):
    connection = sqlite3.connect(signed)
    rows = connection.execute("SELECT * FROM withheld").fetchall()
    connection.close()
    with Ledger.open(signed) as ledger:
        erased = [each.commitment for each in ledger.withheld()]
        ledger.append(
            [
                Change("record", LEDGER_BOOK, "erasures", name, {"reason": "asked for"})
                for name in erased
            ],
            recorder="me",
            recorded_at=TIME,
            erased=erased,
        )
        ledger.rewrite()
    assert audit_ledger(signed, TRUST).is_whole
    connection = sqlite3.connect(signed)
    connection.executemany("INSERT INTO withheld VALUES (?, ?, ?, ?, ?, ?)", rows)
    connection.commit()
    connection.close()
    assert {name for name, _ in _told(signed)} == {"erased"}


@pytest.mark.parametrize(
    "content",
    [b"", b"nothing", b"SQLite format 3\0" + b"\0" * 5000],
    ids=["empty", "short", "zeros"],
)
def test_a_file_that_is_no_database_is_told(tmp_path, content):
    path = tmp_path / "ledger.db"
    path.write_bytes(content)
    (step,) = audit_ledger(path).steps
    assert (step.name, len(step.faults)) == ("file", 1)
    (step,) = audit_ledger(tmp_path / "none.db").steps
    assert len(step.faults) == 1


def test_a_long_chain_is_walked_by_several_and_told_alike(tmp_path, monkeypatch):
    monkeypatch.setattr(chain, "STRETCH_HEIGHT", 4)
    monkeypatch.setattr(chain, "STRETCH", 16)
    with Ledger.create(tmp_path / "long.db") as ledger:
        ledger.append(
            [
                Change(
                    "record",
                    Book("instrument", "a"),
                    "marks",
                    f"m-{at}",
                    {"id": f"m-{at}", "é": '"'},
                )
                for at in range(75)
            ],
            recorder='quoted "name"',
            recorded_at=TIME,
        )
        whole = chain.read_chain(ledger._connection, ledger.path)
        assert whole.faults == ()
        assert whole.tree.size == 75
    _change(
        ledger.path,
        "UPDATE entry SET recorder = 'x' WHERE sequence = 20",
        "DELETE FROM entry WHERE sequence BETWEEN 33 AND 48",
        "DELETE FROM entry WHERE sequence = 65",
        "UPDATE entry SET previous = hash WHERE sequence = 70",
    )
    connection = sqlite3.connect(ledger.path)
    found = chain.read_chain(connection, ledger.path)
    connection.close()
    assert [(fault.sequence, fault.step) for fault in found.faults] == [
        (20, "content"),
        (33, "number"),
        (49, "link"),
        (65, "number"),
        (66, "link"),
        (70, "content"),
        (70, "link"),
    ]
    assert found.tree.size == found.size == 75 - 17
    connection = sqlite3.connect(ledger.path)
    shared = chain.read_chain(connection, ledger.path, 2)
    without = chain.read_chain(connection, ledger.path, 2, with_tree=False)
    connection.close()
    assert shared.root() == found.root()
    assert (without.tree, without.root()) == (None, None)
    for each in (shared, without):
        assert (each.head, each.size, each.faults) == (found.head, found.size, found.faults)


ODD = {
    "quotes": '"',
    "a backslash": "\\",
    "a line's end": "\n",
    "an end of text": "a\0b",
    "control characters": "\x01\x1f\x7f",
    "an imitation": '","line":"',
    "letters of all kinds": "\u00e9\U0001f600\u2028",
}


@pytest.mark.parametrize("name", ODD)
def test_odd_texts_are_walked_and_a_change_to_them_told(tmp_path, name):
    odd = ODD[name]
    with Ledger.create(tmp_path / "ledger.db") as ledger:
        for at in range(4):
            book = Book("instrument", f"k{odd}")
            body = {"id": odd, odd: [odd]}
            ledger.append(
                [
                    Change("record", book, f"s{odd}", f"a-{at}", {}),
                    Change("record", book, "marks", f"{odd}-{at}", body),
                ],
                recorder=f"me{odd}",
                recorded_at=TIME,
            )
        assert audit_ledger(ledger.path).is_whole
        assert len(ledger.entries()) == 8
    _change(ledger.path, "UPDATE entry SET line = 'other' WHERE sequence = 6")
    told = [fault for name, fault in _told(ledger.path, Trust()) if name == "chain"]
    assert [fault.split(":")[0] for fault in told] == ["entry 6"]


@pytest.mark.parametrize("column", chain.COLUMNS.split(", ")[1:])
def test_whatever_is_hung_on_to_a_column_is_told(signed, column):
    # A NUL ends a text for much that is written in C: what comes after must not pass unseen.
    for added in ("char(0) || 'more'", "char(0)", "'\"'", "' '"):
        _change(signed, f"UPDATE entry SET {column} = {column} || {added} WHERE sequence = 4")
        assert "chain" in _steps(signed, Trust()), added
        signed.write_bytes(_MADE["bytes"])


@pytest.mark.parametrize("kind", ["BLOB", "NULL"])
@pytest.mark.parametrize("column", chain.COLUMNS.split(", ")[1:])
def test_a_column_that_is_no_text_any_more_is_told(signed, column, kind):
    connection = sqlite3.connect(signed, isolation_level=None)
    connection.execute("PRAGMA writable_schema = ON")
    (made,) = connection.execute("SELECT sql FROM sqlite_schema WHERE name = 'entry'").fetchone()
    loose = "UPDATE sqlite_schema SET sql = ? WHERE name = 'entry'"
    connection.execute(
        loose, [made.replace("STRICT", "").replace(" TEXT", "").replace(" NOT NULL", "")]
    )
    connection.close()
    value = "NULL" if kind == "NULL" else f"CAST({column} AS {kind})"
    _change(signed, f"UPDATE entry SET {column} = {value} WHERE sequence = 4")
    connection = sqlite3.connect(signed, isolation_level=None)
    connection.execute("PRAGMA writable_schema = ON")
    connection.execute(loose, [made])
    connection.close()
    steps = _steps(signed, Trust())
    # A body of the same bytes has the same hash: it is the file that is not as it was made.
    assert ("file" if (column, kind) == ("body", "BLOB") else "chain") in steps


def test_processes_are_started_only_for_what_is_worth_it():
    assert ledger_audit.worth_sharing(1000) == 1
    assert ledger_audit.worth_sharing(10**6) >= 1


def _read(path):
    """Every value that the program reads in a ledger, or why it cannot."""
    try:
        with Ledger.open(path, read_only=True) as ledger:
            names = [
                entry.body["sha256"] for entry in ledger.entries() if entry.section == "exhibits"
            ]
            return (
                ledger.entries(),
                ledger.entries(Book("instrument", "my-mandolin")),
                ledger.withheld(),
                ledger.checkpoints(),
                [ledger.exhibit(name) for name in names],
                ledger.has_residue(),
            )
    except Exception as error:  # noqa: BLE001 - whatever a damaged file leads to
        return error


def test_a_thousand_flipped_bytes_are_each_found_or_without_effect(signed, tmp_path):
    content = signed.read_bytes()
    before = _read(signed)
    dice = random.Random(8032)  # noqa: S311 - dice, no key
    path = tmp_path / "flipped" / "ledger.db"
    path.parent.mkdir()
    unseen = []
    for _ in range(FLIPS):
        at, mask = dice.randrange(len(content)), dice.randrange(1, 256)
        flipped = bytearray(content)
        flipped[at] ^= mask
        for left in path.parent.iterdir():
            left.unlink()
        path.write_bytes(flipped)
        if audit_ledger(path, TRUST).is_whole and _read(path) != before:
            unseen.append((at, mask))
    assert unseen == []


def test_no_column_can_swallow_the_next(tmp_path):
    # A body that looks like the rest of an entry: cut in two, the bytes would be the same.
    body = {"a": {"book": "q", "book_kind": "pack", "x": "y"}, "body": {"book": "r"}}
    with Ledger.create(tmp_path / "ledger.db") as ledger:
        (entry,) = ledger.append(
            [Change("record", Book("instrument", "k"), "marks", "l", body)],
            recorder="me",
            recorded_at=TIME,
        )
    assert audit_ledger(ledger.path).is_whole
    for book, new_body, act in (
        ('q","book_kind":"pack","x":"y"},"body":{"book":"r"}},"book":"k', '{"a":{', "record"),
        ('r"}},"book":"k', '{"a":{"book":"q","book_kind":"pack","x":"y"},"body":{', "record"),
        ("k", '{"book":"r"}}', 'record","body":{"a":{"book":"q","book_kind":"pack","x":"y"}'),
    ):
        path = tmp_path / "changed.db"
        shutil.copy(ledger.path, path)
        connection = sqlite3.connect(path, isolation_level=None)
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("DROP TRIGGER entry_is_never_changed")
        connection.execute("UPDATE entry SET book = ?, body = ?, act = ?", (book, new_body, act))
        connection.close()
        assert "chain" in _steps(path, Trust()), entry


def test_an_entry_can_be_put_together_again_from_what_is_hashed(signed):
    connection = sqlite3.connect(signed)
    with Ledger.open(signed, read_only=True) as ledger:
        entries = ledger.entries()
    made = connection.execute(
        f"SELECT sequence, {chain._CONTENT} FROM entry ORDER BY sequence"
    ).fetchall()
    connection.close()
    assert len(made) == 8
    for sequence, content in made:
        assert entry_from_content(content.encode()) == entries[sequence - 1]
