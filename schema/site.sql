-- The database of a published site. It is written once, whole, and then only read.
--
-- Before each table stand lines of the form "--| name: value", which the site prints:
--   about    what one row is
--   label    the column that names a row where another table links to it
--   facets   columns by which rows are counted on the table's page
--   open     no: visitors see its content on pages only, not as a table
-- The remark after a column says what it holds. A key is "instrument/id" throughout, so that
-- one column is enough to link by.

--| about: The head of the ledger from which this site was made
--| label: hash
CREATE TABLE head (
    sequence INTEGER PRIMARY KEY, -- number of the last entry that was read
    hash TEXT NOT NULL,           -- its SHA-256; whoever holds the ledger can find it there
    recorded_at TEXT NOT NULL     -- when that entry was recorded
) STRICT;

--| about: The ledger's latest signed checkpoint of these entries, and what proves the entries that note its keys, as verify reads it; empty where nothing was signed
--| open: no
CREATE TABLE proof (
    size INTEGER PRIMARY KEY,     -- how many entries are signed for
    body TEXT NOT NULL            -- JSON
) STRICT;

--| about: A pack: a file of reference statements and catalogues, with its version
--| label: title
CREATE TABLE pack (
    id TEXT PRIMARY KEY,
    title TEXT NOT NULL,
    version TEXT NOT NULL,
    invented TEXT NOT NULL,       -- yes: made up for an example; nothing in it is a fact
    licence TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;

--| about: A row of a pack: what is said about production, by whom, and how far it can be relied on
--| label: sentence
--| facets: pack, section, confidence
CREATE TABLE reference (
    id TEXT PRIMARY KEY,          -- pack/row
    pack TEXT REFERENCES pack (id),
    section TEXT NOT NULL,        -- timelines, specifications, facts, practices ...
    sentence TEXT NOT NULL,
    scope TEXT,                   -- of which makers, models and kinds; empty: its pack is not here
    source TEXT NOT NULL,         -- from where it is known
    confidence TEXT NOT NULL,     -- high, medium or low
    n INTEGER,                    -- on how many examples it says it rests; empty: not said
    is_practice TEXT NOT NULL,    -- yes: a starting value of practice, not an observation
    begins TEXT,                  -- of a feature timeline: as written in the pack
    ends TEXT,                    -- of a feature timeline: as written in the pack
    overlap_days INTEGER,         -- of a feature timeline: how long old and new ran side by side
    position TEXT                 -- of a feature timeline or specification
) STRICT;

--| about: An example on which a feature timeline rests
--| facets: reference
CREATE TABLE timeline_example (
    id INTEGER PRIMARY KEY,
    reference TEXT NOT NULL REFERENCES reference (id),
    example TEXT NOT NULL,        -- the id the pack gives the example
    source TEXT NOT NULL,
    date TEXT,                    -- as written in the pack
    is_published_here TEXT NOT NULL -- yes: the example is one of the instruments of this site
) STRICT;

--| about: An instrument and what is concluded about it
--| label: name
--| facets: kind_name, maker
CREATE TABLE instrument (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    kind_name TEXT NOT NULL,
    maker TEXT NOT NULL,          -- taken to be by
    model TEXT NOT NULL,          -- taken to be this model
    invented TEXT NOT NULL,       -- yes: an example, not a real object
    conclusion TEXT NOT NULL,
    completed_not_before TEXT,    -- earliest under all leading accounts; empty: no lower bound known
    completed_not_after TEXT,     -- latest under all leading accounts; empty: no upper bound known
    leading_accounts INTEGER NOT NULL, -- ways to read the evidence that cannot be put aside
    conflicts INTEGER NOT NULL,   -- without the recorded changes
    recorded_changes INTEGER NOT NULL, -- parts that a record or a dated sighting says are not the first
    open_surprises INTEGER NOT NULL,
    open_questions INTEGER NOT NULL,
    positions INTEGER NOT NULL,
    positions_first_fitted INTEGER NOT NULL, -- positions whose only state is first-fitted
    sequence INTEGER NOT NULL     -- the last ledger entry that was taken into account
) STRICT;

--| about: The report of an instrument, as the pages are drawn from it
--| open: no
CREATE TABLE report (
    instrument TEXT PRIMARY KEY REFERENCES instrument (id),
    body TEXT NOT NULL
) STRICT, WITHOUT ROWID;

--| about: A pack that a report drew on
--| facets: instrument, pack
CREATE TABLE instrument_pack (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    pack TEXT NOT NULL REFERENCES pack (id)
) STRICT;

--| about: An entry of the ledger: that something was recorded, when, and its place in the chain. What was recorded is shown on the instrument's page as far as it is not withheld
--| facets: act, section, book
CREATE TABLE entry (
    sequence INTEGER PRIMARY KEY,
    act TEXT NOT NULL,            -- record, supersede or retract
    book_kind TEXT NOT NULL,      -- instrument or pack
    book TEXT NOT NULL,           -- the instrument or pack it belongs to
    section TEXT NOT NULL,
    line TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    hash TEXT NOT NULL,           -- SHA-256 over the entry and the hash before it
    previous TEXT NOT NULL        -- the hash of the entry before it
) STRICT;

--| about: A line of a bench sheet: one claim by one source, as it may be shown
--| label: title
--| facets: section, instrument
CREATE TABLE line (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    section TEXT NOT NULL,        -- marks, features, traces, works, papers, non-values ...
    title TEXT NOT NULL,
    sentence TEXT NOT NULL,
    seen TEXT,                    -- of a mark: clear, worn or partial; of a non-value: which of the four nothings
    source TEXT REFERENCES source (key),
    sequence INTEGER REFERENCES entry (sequence),
    hash TEXT NOT NULL            -- SHA-256 of its ledger entry
) STRICT;

--| about: A position that a line speaks of
--| facets: position
CREATE TABLE line_position (
    id INTEGER PRIMARY KEY,
    line TEXT NOT NULL REFERENCES line (key),
    position TEXT NOT NULL
) STRICT;

--| about: A source: one sitting, one paper, one person's telling
--| label: title
--| facets: instrument
CREATE TABLE source (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    title TEXT NOT NULL,
    sentence TEXT NOT NULL
) STRICT;

--| about: A file that is kept under its SHA-256, with its caption
--| label: caption
--| facets: media_type
CREATE TABLE exhibit (
    sha256 TEXT PRIMARY KEY,
    caption TEXT NOT NULL,
    media_type TEXT NOT NULL,
    size_bytes INTEGER NOT NULL   -- of the file as it is published
) STRICT;

--| about: The published file of an exhibit
--| open: no
CREATE TABLE exhibit_file (
    sha256 TEXT PRIMARY KEY REFERENCES exhibit (sha256),
    content BLOB NOT NULL,
    thumbnail BLOB
) STRICT;

--| about: That a line points to an exhibit
CREATE TABLE line_exhibit (
    id INTEGER PRIMARY KEY,
    line TEXT NOT NULL REFERENCES line (key),
    exhibit TEXT NOT NULL REFERENCES exhibit (sha256)
) STRICT;

--| about: A rule by which one statement follows from others
--| label: sentence
CREATE TABLE rule (
    id TEXT PRIMARY KEY,
    sentence TEXT NOT NULL
) STRICT;

--| about: One statement with the rule it follows from; its premises are in the table support
--| label: sentence
--| facets: kind, rule, instrument
CREATE TABLE finding (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    kind TEXT NOT NULL,           -- reading, bound, relation, comparison, date, state, conflict ...
    sentence TEXT NOT NULL,
    rule TEXT NOT NULL REFERENCES rule (id)
) STRICT;

--| about: One premise of a finding
--| facets: premise_kind, instrument
CREATE TABLE support (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    finding TEXT NOT NULL REFERENCES finding (key),
    premise_kind TEXT NOT NULL,   -- line, reference or finding
    line TEXT REFERENCES line (key),
    reference TEXT REFERENCES reference (id),
    premise_finding TEXT REFERENCES finding (key)
) STRICT;

--| about: Something that has to hold for a step to go through
--| label: sentence
--| facets: kind, instrument
CREATE TABLE supposition (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    kind TEXT NOT NULL,           -- first-fitted, as-made, sound, holds or joined
    subject TEXT NOT NULL,
    reference TEXT REFERENCES reference (id), -- the row of a pack that is supposed to hold
    sentence TEXT NOT NULL,
    prior REAL NOT NULL,          -- the share at which it is expected to hold, before the evidence
    prior_from TEXT NOT NULL      -- from where that share is known
) STRICT;

--| about: That a finding needs a supposition
CREATE TABLE finding_supposition (
    id INTEGER PRIMARY KEY,
    finding TEXT NOT NULL REFERENCES finding (key),
    supposition TEXT NOT NULL REFERENCES supposition (key)
) STRICT;

--| about: Suppositions that cannot all hold
--| label: sentence
--| facets: is_recorded_change, instrument
CREATE TABLE conflict (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    is_recorded_change TEXT NOT NULL, -- yes: a record stands against the mere presumption that a part is the first
    sentence TEXT NOT NULL
) STRICT;

--| about: A supposition that takes part in a conflict
CREATE TABLE conflict_supposition (
    id INTEGER PRIMARY KEY,
    conflict TEXT NOT NULL REFERENCES conflict (key),
    supposition TEXT NOT NULL REFERENCES supposition (key)
) STRICT;

--| about: One way to read the evidence: what to give up so that the rest can all hold
--| label: sentence
--| facets: is_leading, instrument
CREATE TABLE account (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    is_leading TEXT NOT NULL,     -- yes: it cannot be put aside against the best one
    sentence TEXT NOT NULL,
    odds_note TEXT NOT NULL,
    chance REAL                   -- of this account among all; empty: not weighed
) STRICT;

--| about: A supposition that an account gives up
CREATE TABLE account_gives_up (
    id INTEGER PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (key),
    supposition TEXT NOT NULL REFERENCES supposition (key)
) STRICT;

--| about: Both ends of an event under one account
--| facets: event, instrument
CREATE TABLE dating (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    event TEXT NOT NULL,          -- completed, dispatched or first sold: never merged
    account TEXT REFERENCES account (key),
    not_before TEXT,              -- empty: no lower bound known
    not_after TEXT,               -- empty: no upper bound known
    not_before_sentence TEXT NOT NULL,
    not_after_sentence TEXT NOT NULL,
    not_before_finding TEXT REFERENCES finding (key),
    not_after_finding TEXT REFERENCES finding (key)
) STRICT;

--| about: What the weighing of all evidence on an instrument rests on, or why there is none
--| label: note
--| facets: is_possible
CREATE TABLE weighing (
    instrument TEXT PRIMARY KEY REFERENCES instrument (id),
    is_possible TEXT NOT NULL,    -- no: nothing explains all of the evidence
    note TEXT NOT NULL
) STRICT;

--| about: How likely the weeks of an event are, all evidence weighed
--| label: sentence
--| facets: event, instrument
CREATE TABLE date_chance (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    event TEXT NOT NULL,          -- completed, dispatched or first sold: never merged
    share REAL NOT NULL,          -- how much of the chance the likeliest weeks hold together
    begins TEXT NOT NULL,         -- the first day of those weeks
    ends TEXT NOT NULL,           -- their last day
    runs INTEGER NOT NULL,        -- in how many runs of weeks they fall; more than one: with gaps
    median TEXT NOT NULL,         -- as likely before as after this day
    widest_begins TEXT,           -- the first day over the range of every starting value; empty: not worked out
    widest_ends TEXT,             -- the last day over the range of every starting value
    sentence TEXT NOT NULL,
    finding TEXT REFERENCES finding (key)
) STRICT;

--| about: The chance of one week for an event; weeks with less than a millionth are left out
CREATE TABLE week_chance (
    id INTEGER PRIMARY KEY,
    date_chance TEXT NOT NULL REFERENCES date_chance (key),
    begins TEXT NOT NULL,         -- the first day of the week
    chance REAL NOT NULL
) STRICT;

--| about: The chances of the weeks of a year added up
--| facets: event
CREATE TABLE year_chance (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    event TEXT NOT NULL,
    year TEXT NOT NULL,           -- in which the week begins
    chance REAL NOT NULL
) STRICT;

--| about: How likely a part, or parts fitted as one, left the works with the instrument, all evidence weighed
--| label: name
--| facets: verdict, instrument
CREATE TABLE part_chance (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    event TEXT NOT NULL,          -- the fitting event; parts that share one are one piece of evidence
    name TEXT NOT NULL,
    positions TEXT NOT NULL,      -- parted by commas; empty: a part that is no longer in place
    chance REAL NOT NULL,
    low REAL NOT NULL,            -- over the range of its own starting value
    high REAL NOT NULL,
    widest_low REAL,              -- over the range of every starting value; empty: not worked out
    widest_high REAL,
    service REAL NOT NULL,        -- the chance that a repair of its time put it in
    period REAL NOT NULL,         -- the chance that it was chosen to match
    transplant REAL NOT NULL,     -- the chance that it came with others from another example
    verdict TEXT NOT NULL,        -- likelier the first, likelier not the first, cannot be told
    sentence TEXT NOT NULL,
    finding TEXT REFERENCES finding (key)
) STRICT;

--| about: How likely it is that something else holds which a step goes through by: a line, a row, a union
--| label: sentence
--| facets: instrument
CREATE TABLE supposition_chance (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    supposition TEXT NOT NULL,
    chance REAL NOT NULL,
    low REAL NOT NULL,
    high REAL NOT NULL,
    sentence TEXT NOT NULL
) STRICT;

--| about: What a line, or several that are one piece of evidence, is worth for one statement
--| label: sentence
--| facets: words, instrument
CREATE TABLE line_weight (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    about TEXT REFERENCES finding (key), -- the statement; empty: it has no page of its own
    about_words TEXT NOT NULL,
    ratio REAL NOT NULL,          -- the odds of the statement with the lines over its odds without them
    words TEXT NOT NULL,          -- the strength of the ratio on the scale of verbal equivalents
    lines INTEGER NOT NULL,
    sentence TEXT NOT NULL
) STRICT;

--| about: A line that a weight is the weight of
CREATE TABLE weighed_line (
    id INTEGER PRIMARY KEY,
    line_weight TEXT NOT NULL REFERENCES line_weight (key),
    line TEXT NOT NULL REFERENCES line (key)
) STRICT;

--| about: How far a starting value of practice moves what it moves most, within its own range
--| label: sentence
--| facets: value, instrument
CREATE TABLE sway (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    value TEXT NOT NULL,
    name TEXT NOT NULL,           -- what the value is, in words
    low REAL NOT NULL,
    middle REAL NOT NULL,         -- as it is taken
    high REAL NOT NULL,
    about TEXT REFERENCES finding (key),
    chance_at_low REAL NOT NULL,
    chance_at_high REAL NOT NULL,
    sentence TEXT NOT NULL
) STRICT;

--| about: A statement given to the reader that is other without a source or without a row of a pack
--| facets: effect, instrument
CREATE TABLE withdrawal (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    source TEXT REFERENCES source (key),
    reference TEXT REFERENCES reference (id),
    finding TEXT NOT NULL REFERENCES finding (key),
    effect TEXT NOT NULL          -- falls: no chain is left; weakened: it stands by another chain
) STRICT;

--| about: Something without which a finding falls, whatever other chain is taken
CREATE TABLE decisive (
    id INTEGER PRIMARY KEY,
    finding TEXT NOT NULL REFERENCES finding (key),
    ground TEXT NOT NULL          -- line:, reference: or supposition: and its id
) STRICT;

--| about: What was recorded at one time that bears on an instrument
--| facets: instrument
CREATE TABLE recording (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    first_entry INTEGER NOT NULL,
    last_entry INTEGER NOT NULL,
    recorded_at TEXT NOT NULL,
    sentence TEXT NOT NULL,       -- how much was recorded
    is_compared TEXT NOT NULL     -- yes: the conclusions before and after are compared
) STRICT;

--| about: What followed otherwise after a recording
--| label: sentence
CREATE TABLE recording_change (
    id INTEGER PRIMARY KEY,
    recording TEXT NOT NULL REFERENCES recording (key),
    sentence TEXT NOT NULL
) STRICT;

--| about: A position of an instrument and the state of what is in it
--| label: name
--| facets: label, link, instrument
CREATE TABLE position (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    position TEXT NOT NULL,
    name TEXT NOT NULL,
    parent TEXT,
    link TEXT NOT NULL,           -- root, integral, captive or mounted
    assembly TEXT,
    label TEXT NOT NULL,          -- its state in words
    state TEXT NOT NULL,          -- the first possible state; not applicable: there is no such part
    states INTEGER NOT NULL,      -- how many states are possible
    reasons TEXT NOT NULL,
    made_not_before TEXT,
    made_not_after TEXT,
    fitting_event TEXT,           -- parts that share one are one piece of evidence
    finding TEXT REFERENCES finding (key)
) STRICT;

--| about: One way to read a mark; all that fit are listed, used or not
--| facets: is_used, is_plain, instrument
CREATE TABLE reading (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    line TEXT NOT NULL REFERENCES line (key),
    text TEXT NOT NULL,           -- the mark, glyph for glyph
    reading TEXT NOT NULL,
    reason TEXT NOT NULL,
    source TEXT NOT NULL,
    is_plain TEXT NOT NULL,       -- yes: as it stands; no: with a glyph taken for another
    is_used TEXT NOT NULL,        -- no: shown, but no date is drawn from it
    standing TEXT NOT NULL,       -- how it stands to all the rest; empty: not told
    not_before TEXT,
    not_after TEXT
) STRICT;

--| about: A part, or parts fitted as one, likely not to have left the works with the instrument
--| label: sentence
--| facets: instrument
CREATE TABLE swap (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    subject TEXT NOT NULL,
    sentence TEXT NOT NULL,
    accounts_giving_up INTEGER NOT NULL, -- accounts that give its first fitting up
    accounts_total INTEGER NOT NULL,
    prior REAL NOT NULL,
    finding TEXT REFERENCES finding (key)
) STRICT;

--| about: Something seen that nothing recorded explains, or that something now does
--| label: sentence
--| facets: is_open, instrument
CREATE TABLE surprise (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    is_open TEXT NOT NULL,
    sentence TEXT NOT NULL,
    line TEXT REFERENCES line (key),
    explained_by TEXT
) STRICT;

--| about: A question that is still open
--| label: sentence
--| facets: instrument
CREATE TABLE question (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    sentence TEXT NOT NULL
) STRICT;

--| about: A doubt that somebody raised, what it touches, what would fall if it were right and what is conceded. It is no evidence and moves nothing
--| label: says
--| facets: instrument
CREATE TABLE challenge (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    raised_by TEXT NOT NULL,      -- empty: not known or not told
    date TEXT NOT NULL,           -- as written; empty: not known
    says TEXT NOT NULL,           -- in the challenger's own words
    instead TEXT NOT NULL,        -- what they say instead
    claims TEXT NOT NULL,         -- the statements of the report that it touches
    falls TEXT NOT NULL,          -- what would no longer be so if the challenger were right
    stands TEXT NOT NULL,         -- what would be so all the same
    conceded TEXT NOT NULL,
    answers INTEGER NOT NULL,     -- how many answers are on record
    sequence INTEGER REFERENCES entry (sequence)
) STRICT;

--| about: What was answered to a challenge; with something in corrects it is an erratum
--| label: says
--| facets: instrument
CREATE TABLE answer (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    challenge TEXT NOT NULL REFERENCES challenge (key),
    answered_by TEXT NOT NULL,    -- empty: not known or not told
    date TEXT NOT NULL,
    says TEXT NOT NULL,
    concedes TEXT NOT NULL,
    corrects TEXT NOT NULL,       -- what had been said and is withdrawn; empty: nothing
    sequence INTEGER REFERENCES entry (sequence)
) STRICT;

--| about: Something on an instrument's time axis
--| label: label
--| facets: lane, instrument
CREATE TABLE timeline_item (
    id INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    lane TEXT NOT NULL,           -- made, completed, work, custody, sighting ...
    label TEXT NOT NULL,
    begins TEXT,
    ends TEXT,
    is_contested TEXT NOT NULL,
    finding TEXT REFERENCES finding (key)
) STRICT;

--| about: A caution, shown beside what it concerns. Local codes and licensed practice come first
--| label: says
--| facets: about, instrument
CREATE TABLE caution (
    key INTEGER PRIMARY KEY,
    instrument TEXT NOT NULL REFERENCES instrument (id),
    id TEXT NOT NULL,
    about TEXT NOT NULL,
    says TEXT NOT NULL,
    defer_to TEXT NOT NULL
) STRICT;

--| about: A page as it is served, drawn when the site was made
--| open: no
CREATE TABLE page (
    path TEXT PRIMARY KEY,
    body BLOB NOT NULL            -- gzip (RFC 1952)
) STRICT;

--| about: The rows of a pack by which marks are read, for the form that reads a mark
--| open: no
CREATE TABLE pack_body (
    pack TEXT PRIMARY KEY REFERENCES pack (id),
    place INTEGER NOT NULL,       -- later packs come after earlier ones
    body TEXT NOT NULL            -- JSON
) STRICT;

--| about: What can be searched: one row for each line, finding, position, source and reference
--| open: no
CREATE TABLE passage (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    instrument TEXT NOT NULL,
    title TEXT NOT NULL,
    text TEXT NOT NULL,
    href TEXT NOT NULL
) STRICT;

--| about: Where the passages of each kind begin and end: each kind is one run of rows
--| open: no
CREATE TABLE passage_run (
    kind TEXT PRIMARY KEY,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL
) STRICT;

CREATE INDEX year_chance_by_event ON year_chance (event, year, chance, instrument);
CREATE INDEX line_by_instrument ON line (instrument, section);
CREATE INDEX line_by_source ON line (source);
CREATE INDEX line_position_by_line ON line_position (line);
CREATE INDEX line_exhibit_by_exhibit ON line_exhibit (exhibit);
CREATE INDEX finding_by_instrument ON finding (instrument, kind);
CREATE INDEX finding_by_rule ON finding (rule);
CREATE INDEX support_by_finding ON support (finding);
CREATE INDEX support_by_line ON support (line) WHERE line IS NOT NULL;
CREATE INDEX support_by_reference ON support (reference) WHERE reference IS NOT NULL;
CREATE INDEX support_by_premise ON support (premise_finding) WHERE premise_finding IS NOT NULL;
CREATE INDEX supposition_by_instrument ON supposition (instrument, kind);
CREATE INDEX supposition_by_reference ON supposition (reference) WHERE reference IS NOT NULL;
CREATE INDEX finding_supposition_by_finding ON finding_supposition (finding);
CREATE INDEX finding_supposition_by_supposition ON finding_supposition (supposition);
CREATE INDEX conflict_supposition_by_conflict ON conflict_supposition (conflict);
CREATE INDEX account_gives_up_by_account ON account_gives_up (account);
CREATE INDEX dating_by_instrument ON dating (instrument, event);
CREATE INDEX date_chance_by_instrument ON date_chance (instrument, event);
CREATE INDEX week_chance_by_date_chance ON week_chance (date_chance);
CREATE INDEX part_chance_by_instrument ON part_chance (instrument);
CREATE INDEX part_chance_by_chance ON part_chance (chance, instrument);
CREATE INDEX supposition_chance_by_instrument ON supposition_chance (instrument);
CREATE INDEX line_weight_by_instrument ON line_weight (instrument, about);
CREATE INDEX weighed_line_by_line ON weighed_line (line);
CREATE INDEX weighed_line_by_weight ON weighed_line (line_weight);
CREATE INDEX sway_by_instrument ON sway (instrument);
CREATE INDEX withdrawal_by_source ON withdrawal (source) WHERE source IS NOT NULL;
CREATE INDEX withdrawal_by_reference ON withdrawal (reference) WHERE reference IS NOT NULL;
CREATE INDEX withdrawal_by_finding ON withdrawal (finding);
CREATE INDEX decisive_by_finding ON decisive (finding);
CREATE INDEX recording_by_instrument ON recording (instrument);
CREATE INDEX recording_change_by_recording ON recording_change (recording);
CREATE INDEX position_by_instrument ON position (instrument);
CREATE INDEX position_by_label ON position (label);
CREATE INDEX reading_by_line ON reading (line);
CREATE INDEX challenge_by_instrument ON challenge (instrument);
CREATE INDEX answer_by_challenge ON answer (challenge);
CREATE INDEX timeline_item_by_instrument ON timeline_item (instrument, lane, begins);
CREATE INDEX timeline_example_by_reference ON timeline_example (reference);
CREATE INDEX reference_by_position ON reference (position, pack) WHERE position IS NOT NULL;
CREATE INDEX reference_by_section ON reference (section);
CREATE INDEX entry_by_book ON entry (book);
CREATE INDEX account_by_instrument ON account (instrument);
CREATE INDEX account_gives_up_by_supposition ON account_gives_up (supposition);
CREATE INDEX answer_by_instrument ON answer (instrument);
CREATE INDEX answer_by_sequence ON answer (sequence) WHERE sequence IS NOT NULL;
CREATE INDEX caution_by_instrument ON caution (instrument);
CREATE INDEX challenge_by_sequence ON challenge (sequence) WHERE sequence IS NOT NULL;
CREATE INDEX conflict_by_instrument ON conflict (instrument);
CREATE INDEX conflict_supposition_by_supposition ON conflict_supposition (supposition);
CREATE INDEX date_chance_by_finding ON date_chance (finding) WHERE finding IS NOT NULL;
CREATE INDEX dating_by_account ON dating (account) WHERE account IS NOT NULL;
CREATE INDEX dating_by_not_after_finding ON dating (not_after_finding)
    WHERE not_after_finding IS NOT NULL;
CREATE INDEX dating_by_not_before_finding ON dating (not_before_finding)
    WHERE not_before_finding IS NOT NULL;
CREATE INDEX instrument_pack_by_instrument ON instrument_pack (instrument);
CREATE INDEX instrument_pack_by_pack ON instrument_pack (pack);
CREATE INDEX line_by_sequence ON line (sequence) WHERE sequence IS NOT NULL;
CREATE INDEX line_exhibit_by_line ON line_exhibit (line);
CREATE INDEX line_weight_by_about ON line_weight (about) WHERE about IS NOT NULL;
CREATE INDEX part_chance_by_finding ON part_chance (finding) WHERE finding IS NOT NULL;
CREATE INDEX position_by_finding ON position (finding) WHERE finding IS NOT NULL;
CREATE INDEX question_by_instrument ON question (instrument);
CREATE INDEX reading_by_instrument ON reading (instrument);
CREATE INDEX reference_by_pack ON reference (pack) WHERE pack IS NOT NULL;
CREATE INDEX source_by_instrument ON source (instrument);
CREATE INDEX support_by_instrument ON support (instrument);
CREATE INDEX surprise_by_instrument ON surprise (instrument);
CREATE INDEX surprise_by_line ON surprise (line) WHERE line IS NOT NULL;
CREATE INDEX swap_by_finding ON swap (finding) WHERE finding IS NOT NULL;
CREATE INDEX swap_by_instrument ON swap (instrument);
CREATE INDEX sway_by_about ON sway (about) WHERE about IS NOT NULL;
CREATE INDEX timeline_item_by_finding ON timeline_item (finding) WHERE finding IS NOT NULL;
CREATE INDEX withdrawal_by_instrument ON withdrawal (instrument);
CREATE INDEX year_chance_by_instrument ON year_chance (instrument);
