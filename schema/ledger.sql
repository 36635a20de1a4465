-- The ledger: entries that are only ever added to, and what is kept beside them.
--
-- The triggers hold against any ordinary connection, whatever its settings: INSERT OR REPLACE
-- does not run DELETE triggers unless recursive triggers are on, so every table is also guarded
-- before an insert. Someone who may write the file can drop a trigger; what proves that nothing
-- was changed is the chain of hashes, and a checkpoint of its head kept elsewhere.

PRAGMA application_id = 0x574D4B31;  -- "WMK1"
PRAGMA user_version = 1;

-- One row is one Entry. The hash is that of the canonical JSON of the other columns, body opened.
CREATE TABLE entry (
  sequence    INTEGER PRIMARY KEY CHECK (sequence > 0),
  recorded_at TEXT NOT NULL CHECK (
    recorded_at GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9]Z'),
  recorder    TEXT NOT NULL CHECK (recorder <> ''),
  act         TEXT NOT NULL CHECK (act IN ('record', 'supersede', 'retract')),
  book_kind   TEXT NOT NULL CHECK (book_kind IN ('instrument', 'pack')),
  book        TEXT NOT NULL CHECK (book <> ''),
  section     TEXT NOT NULL CHECK (section <> ''),
  line        TEXT NOT NULL CHECK (line <> ''),
  body        TEXT CHECK (body IS NULL OR json_valid(body)),
  previous    TEXT NOT NULL CHECK (length(previous) = 64),
  hash        TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
  CHECK ((act = 'retract') = (body IS NULL))
) STRICT;

CREATE INDEX entry_by_line ON entry (book_kind, book, line, sequence);

CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN
  SELECT RAISE(ABORT, 'an entry is never changed: record a new one');
END;

CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
BEGIN
  SELECT RAISE(ABORT, 'an entry is never deleted: retract it with a new one');
END;

CREATE TRIGGER entry_follows_the_last BEFORE INSERT ON entry
BEGIN
  SELECT RAISE(ABORT, 'an entry is never replaced')
   WHERE EXISTS (SELECT 1 FROM entry WHERE sequence = NEW.sequence OR hash = NEW.hash);
  SELECT RAISE(ABORT, 'an entry has the number after the last')
   WHERE NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entry);
  SELECT RAISE(ABORT, 'an entry names the hash of the last')
   WHERE NEW.previous IS NOT coalesce(
     (SELECT hash FROM entry ORDER BY sequence DESC LIMIT 1),
     '0000000000000000000000000000000000000000000000000000000000000000');
END;

-- Withheld matter, kept beside the chain. A row may be deleted, which erases the value for good
-- and leaves the chain whole; it is never changed. The value is canonical JSON.
CREATE TABLE withheld (
  commitment TEXT PRIMARY KEY CHECK (length(commitment) = 64),
  salt       TEXT NOT NULL CHECK (length(salt) = 32),
  value      TEXT NOT NULL CHECK (json_valid(value)),
  book       TEXT NOT NULL CHECK (book <> ''),
  line       TEXT NOT NULL CHECK (line <> ''),
  field      TEXT NOT NULL CHECK (field <> '')
) STRICT;

CREATE INDEX withheld_by_line ON withheld (book, line);

CREATE TRIGGER withheld_is_never_changed BEFORE UPDATE ON withheld
BEGIN
  SELECT RAISE(ABORT, 'a withheld value is never changed');
END;

CREATE TRIGGER withheld_is_never_replaced BEFORE INSERT ON withheld
BEGIN
  SELECT RAISE(ABORT, 'a withheld value is never replaced')
   WHERE EXISTS (SELECT 1 FROM withheld WHERE commitment = NEW.commitment OR rowid = NEW.rowid);
END;

-- Exhibits under the SHA-256 of their content.
CREATE TABLE exhibit (
  sha256     TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  media_type TEXT NOT NULL CHECK (
    media_type IN ('image/png', 'image/jpeg', 'image/webp', 'application/pdf', 'text/plain')),
  size_bytes INTEGER NOT NULL CHECK (size_bytes = length(content)),
  content    BLOB NOT NULL
) STRICT;

CREATE TRIGGER exhibit_is_never_changed BEFORE UPDATE ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is never changed');
END;

CREATE TRIGGER exhibit_is_never_deleted BEFORE DELETE ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is never deleted');
END;

CREATE TRIGGER exhibit_is_never_replaced BEFORE INSERT ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is never replaced')
   WHERE EXISTS (SELECT 1 FROM exhibit WHERE sha256 = NEW.sha256 OR rowid = NEW.rowid);
END;
