-- The ledger: entries that are only ever added to, and what is kept beside them.
--
-- The triggers hold against any ordinary connection, whatever its settings: INSERT OR REPLACE
-- does not run DELETE triggers unless recursive triggers are on, so every table is also guarded
-- before an insert. Someone who may write the file can drop a trigger; what proves that nothing
-- was changed is the chain of hashes, and a checkpoint of its head kept elsewhere.

PRAGMA application_id = 0x574D4B31;  -- "WMK1"
PRAGMA user_version = 2;

-- One row is one Entry. The hash is that of the canonical JSON of the other columns; body is
-- canonical JSON itself. In books of the kind "ledger" the ledger notes its keys and what was
-- erased.
CREATE TABLE entry (
  sequence    INTEGER PRIMARY KEY CHECK (sequence > 0),
  recorded_at TEXT NOT NULL CHECK (length(recorded_at) = 20),
  recorder    TEXT NOT NULL CHECK (recorder <> ''),
  -- Lists of three would be made into a table of their own for every row that is added.
  act         TEXT NOT NULL CHECK (act = 'record' OR act = 'supersede' OR act = 'retract'),
  book_kind   TEXT NOT NULL CHECK (
    book_kind = 'instrument' OR book_kind = 'pack' OR book_kind = 'ledger'),
  book        TEXT NOT NULL CHECK (book <> ''),
  section     TEXT NOT NULL CHECK (section <> ''),
  line        TEXT NOT NULL CHECK (line <> ''),
  body        TEXT CHECK (body IS NULL OR body GLOB '{*}'),
  previous    TEXT NOT NULL,
  hash        TEXT NOT NULL CHECK (length(hash) = 64),
  CHECK ((act = 'retract') = (body IS NULL))
) STRICT;

CREATE INDEX entry_by_book ON entry (book_kind, book);

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
  -- No number is given twice, so nothing is replaced either.
  SELECT RAISE(ABORT, 'an entry has the number after the last, and names its hash')
   WHERE coalesce(
     (SELECT sequence <> NEW.sequence - 1 OR hash <> NEW.previous
        FROM entry ORDER BY sequence DESC LIMIT 1),
     NEW.sequence <> 1
     OR NEW.previous <> '0000000000000000000000000000000000000000000000000000000000000000');
END;

-- Withheld matter, kept beside the chain. The value is canonical JSON. A row is never changed. It
-- may be deleted, which erases the value for good and leaves the chain whole, once an entry says
-- that it was.
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

CREATE TRIGGER withheld_is_erased_by_an_entry BEFORE DELETE ON withheld
BEGIN
  SELECT RAISE(ABORT, 'a withheld value is erased only where an entry says so')
   WHERE NOT EXISTS (
     SELECT 1 FROM entry WHERE book_kind = 'ledger' AND book = 'ledger' AND line = OLD.commitment
        AND section = 'erasures');
END;

CREATE TRIGGER withheld_is_never_replaced BEFORE INSERT ON withheld
BEGIN
  SELECT RAISE(ABORT, 'a withheld value is never replaced')
   WHERE EXISTS (SELECT 1 FROM withheld WHERE commitment = NEW.commitment OR rowid = NEW.rowid);
END;

-- Exhibits under the SHA-256 of their content. One may be erased as a withheld value may.
CREATE TABLE exhibit (
  sha256     TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  media_type TEXT NOT NULL CHECK (
    media_type IN ('image/png', 'image/jpeg', 'image/webp', 'image/heic', 'application/pdf',
                   'text/plain')),
  size_bytes INTEGER NOT NULL CHECK (size_bytes = length(content)),
  content    BLOB NOT NULL
) STRICT;

CREATE TRIGGER exhibit_is_never_changed BEFORE UPDATE ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is never changed');
END;

CREATE TRIGGER exhibit_is_erased_by_an_entry BEFORE DELETE ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is erased only where an entry says so')
   WHERE NOT EXISTS (
     SELECT 1 FROM entry WHERE book_kind = 'ledger' AND book = 'ledger' AND line = OLD.sha256
        AND section = 'erasures');
END;

CREATE TRIGGER exhibit_is_never_replaced BEFORE INSERT ON exhibit
BEGIN
  SELECT RAISE(ABORT, 'an exhibit is never replaced')
   WHERE EXISTS (SELECT 1 FROM exhibit WHERE sha256 = NEW.sha256 OR rowid = NEW.rowid);
END;

-- Checkpoints: what was signed, word for word, and its signature. One a size and key.
CREATE TABLE checkpoint (
  size      INTEGER NOT NULL CHECK (size > 0),
  key       TEXT NOT NULL CHECK (length(key) = 16),
  content   TEXT NOT NULL CHECK (json_valid(content)),
  signature TEXT NOT NULL CHECK (length(signature) = 128),
  PRIMARY KEY (size, key)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER checkpoint_is_never_changed BEFORE UPDATE ON checkpoint
BEGIN
  SELECT RAISE(ABORT, 'a checkpoint is never changed');
END;

CREATE TRIGGER checkpoint_is_never_deleted BEFORE DELETE ON checkpoint
BEGIN
  SELECT RAISE(ABORT, 'a checkpoint is never deleted');
END;

CREATE TRIGGER checkpoint_is_of_what_is_there BEFORE INSERT ON checkpoint
BEGIN
  SELECT RAISE(ABORT, 'a checkpoint is never replaced')
   WHERE EXISTS (SELECT 1 FROM checkpoint WHERE size = NEW.size AND key = NEW.key);
  SELECT RAISE(ABORT, 'a checkpoint is of entries that are there')
   WHERE NOT EXISTS (SELECT 1 FROM entry WHERE sequence = NEW.size);
END;

-- A row while an erasure is under way: what was deleted may still stand in the free space of the
-- file. It goes when the file has been written anew.
CREATE TABLE residue (
  sequence INTEGER PRIMARY KEY
) STRICT;
