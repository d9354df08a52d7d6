-- The database of a home. It is made from sources, arrivals and decisions, and can be deleted at any time: the
-- program makes it again. For looking around, use the views at the end: their columns are written out and their
-- times are the boat's own. Tables keep times as milliseconds since 1970 UTC beside the offset aboard in seconds.
-- A source's key is the first 63 bits of its SHA-256, so the same records give the same rows on every device.

CREATE TABLE meta (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE source (
    source INTEGER PRIMARY KEY,
    hash TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    path TEXT,
    bytes INTEGER NOT NULL,
    modified INTEGER,
    received INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('live', 'replaced', 'withdrawn', 'erased', 'missing')),
    replaced_by TEXT,
    format TEXT,
    encoding TEXT,
    seconds REAL,
    recorded INTEGER,
    recorded_offset INTEGER,
    recorded_basis TEXT,
    recorded_from TEXT,
    zone TEXT,
    zone_said INTEGER CHECK (zone_said IN (0, 1)),
    names TEXT,
    leaves TEXT,
    back TEXT,
    leaves_said TEXT,
    back_said TEXT
) STRICT;

CREATE TABLE arrival (
    id TEXT PRIMARY KEY,
    device TEXT NOT NULL,
    time INTEGER NOT NULL,
    source INTEGER NOT NULL REFERENCES source,
    line TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE decision (
    id TEXT PRIMARY KEY,
    device TEXT NOT NULL,
    time INTEGER NOT NULL,
    kind TEXT NOT NULL,
    item TEXT,
    stands INTEGER NOT NULL CHECK (stands IN (0, 1)),
    line TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE utterance (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    kind TEXT NOT NULL,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    words TEXT NOT NULL,
    text TEXT NOT NULL,
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    cue_id TEXT,
    cue_start REAL,
    cue_end REAL,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE reading (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    quantity TEXT NOT NULL,
    low REAL,
    high REAL,
    unit TEXT NOT NULL,
    unit_said TEXT NOT NULL,
    stance TEXT NOT NULL,
    gear TEXT,
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    quote TEXT NOT NULL,
    doubts TEXT,
    because TEXT,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE trial (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    gear TEXT NOT NULL,
    about TEXT NOT NULL,
    outcome TEXT NOT NULL,
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    quote TEXT NOT NULL,
    night INTEGER CHECK (night IN (0, 1)),
    hands INTEGER,
    judged INTEGER NOT NULL CHECK (judged IN (0, 1)),
    because TEXT,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

-- The readings under which a trial took place.
CREATE TABLE condition (
    source INTEGER NOT NULL,
    trial INTEGER NOT NULL,
    n INTEGER NOT NULL,
    reading INTEGER NOT NULL,
    PRIMARY KEY (source, trial, n),
    FOREIGN KEY (source, trial) REFERENCES trial,
    FOREIGN KEY (source, reading) REFERENCES reading
) STRICT, WITHOUT ROWID;

-- What a note opens.
CREATE TABLE item (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    gear TEXT,
    about TEXT NOT NULL,
    why TEXT NOT NULL,
    due_from TEXT,
    due_until TEXT,
    due_what TEXT,
    due_said TEXT,
    -- The words leave it in doubt that there is anything to do.
    unsure INTEGER NOT NULL CHECK (unsure IN (0, 1)),
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    quote TEXT NOT NULL,
    because TEXT,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

-- What a note says is done.
CREATE TABLE closing (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    gear TEXT,
    about TEXT NOT NULL,
    how TEXT NOT NULL,
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    quote TEXT NOT NULL,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE due (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    gear TEXT,
    from_day TEXT NOT NULL,
    until_day TEXT NOT NULL,
    what TEXT NOT NULL,
    said TEXT NOT NULL,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

-- What a note tells of the life of gear: fitted, bought, replaced, repaired, taken off; a trial announced; a trigger,
-- with the numbers of the readings that it is made of as JSON.
CREATE TABLE event (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    gear TEXT NOT NULL,
    what TEXT NOT NULL,
    on_day TEXT,
    at INTEGER,
    at_offset INTEGER,
    at_basis TEXT,
    readings TEXT,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    quote TEXT NOT NULL,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE notice (
    source INTEGER NOT NULL REFERENCES source,
    n INTEGER NOT NULL,
    start_byte INTEGER,
    end_byte INTEGER,
    line INTEGER,
    message TEXT NOT NULL,
    hint TEXT,
    PRIMARY KEY (source, n)
) STRICT, WITHOUT ROWID;

-- Readings, and the other findings, of a source once more, each in one compressed piece, without reasons: for questions
-- that look at all notes. What the rows above say is the same; what a note plainly states of gear, of which there is more
-- than of all else, stands only here.
CREATE TABLE packed (
    source INTEGER PRIMARY KEY REFERENCES source,
    readings BLOB NOT NULL,
    others BLOB NOT NULL
) STRICT;

-- One quantity from one sender of the boat's instruments. Its key is 48 bits of a hash of the other columns, so it is
-- the same on every device.
CREATE TABLE channel (
    channel INTEGER PRIMARY KEY,
    quantity TEXT NOT NULL,
    reference TEXT NOT NULL,
    sender TEXT NOT NULL,
    instance TEXT NOT NULL,
    unit TEXT NOT NULL
) STRICT;

-- What an instrument log holds of a channel: minutes since 1970 UTC of its first and last sample, and how many of both.
CREATE TABLE span (
    source INTEGER NOT NULL REFERENCES source,
    channel INTEGER NOT NULL REFERENCES channel,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL,
    minutes INTEGER NOT NULL,
    samples INTEGER NOT NULL,
    PRIMARY KEY (source, channel)
) STRICT, WITHOUT ROWID;

-- A channel over one minute. Laid out for reading one channel over months: its minutes stand side by side. Directions
-- are counted from the minute's first sample, so min <= mean <= max even over north; sin and cos are the means of
-- their vectors, and NULL for other quantities. No references are enforced, as a look-up a row would take longer than
-- the row; span has them.
CREATE TABLE minute (
    channel INTEGER NOT NULL,
    minute INTEGER NOT NULL,
    source INTEGER NOT NULL,
    count INTEGER NOT NULL,
    min REAL NOT NULL,
    mean REAL NOT NULL,
    max REAL NOT NULL,
    sin REAL,
    cos REAL,
    PRIMARY KEY (channel, minute, source)
) STRICT, WITHOUT ROWID;

-- The same by the hour, for months and years at a glance.
CREATE TABLE hour (
    channel INTEGER NOT NULL,
    hour INTEGER NOT NULL,
    source INTEGER NOT NULL,
    count INTEGER NOT NULL,
    min REAL NOT NULL,
    mean REAL NOT NULL,
    max REAL NOT NULL,
    sin REAL,
    cos REAL,
    PRIMARY KEY (channel, hour, source)
) STRICT, WITHOUT ROWID;

-- Items of many notes, folded into one matter each, as they stand after all notes and decisions.
CREATE TABLE matter (
    name TEXT PRIMARY KEY,
    n INTEGER NOT NULL,
    gear TEXT,
    about TEXT NOT NULL,
    why TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('open', 'closed')),
    at INTEGER,
    at_offset INTEGER
) STRICT, WITHOUT ROWID;

-- The places in the notes that a matter rests on.
CREATE TABLE evidence (
    matter TEXT NOT NULL REFERENCES matter,
    n INTEGER NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('opens', 'closes')),
    source INTEGER NOT NULL REFERENCES source,
    start_byte INTEGER NOT NULL,
    end_byte INTEGER NOT NULL,
    PRIMARY KEY (matter, n)
) STRICT, WITHOUT ROWID;

-- Every dumped file: where it came from, how it was read, whether its findings answer.
CREATE VIEW sources AS
SELECT hash, name, path, bytes, state, replaced_by, format, encoding,
    strftime('%Y-%m-%d %H:%M:%S', recorded / 1000 + recorded_offset, 'unixepoch') AS recorded,
    recorded_basis, recorded_from, zone,
    strftime('%Y-%m-%d %H:%M:%SZ', received / 1000, 'unixepoch') AS received
FROM source;

-- Every number with its meaning, from the sources whose findings answer.
CREATE VIEW readings AS
SELECT r.quantity, r.low, r.high, r.unit, r.unit_said, r.stance, r.gear,
    strftime('%Y-%m-%d %H:%M:%S', r.at / 1000 + r.at_offset, 'unixepoch') AS time_aboard,
    strftime('%Y-%m-%d %H:%M:%SZ', r.at / 1000, 'unixepoch') AS time_utc,
    r.at_basis AS time_is, r.quote AS words, r.doubts, s.name AS source, s.hash, r.start_byte, r.end_byte
FROM reading r JOIN source s USING (source)
WHERE s.state = 'live';

-- Everything tried, how it went, and in what conditions.
CREATE VIEW trials AS
SELECT t.gear, t.about, t.outcome,
    strftime('%Y-%m-%d %H:%M:%S', t.at / 1000 + t.at_offset, 'unixepoch') AS time_aboard,
    strftime('%Y-%m-%d %H:%M:%SZ', t.at / 1000, 'unixepoch') AS time_utc,
    t.at_basis AS time_is, t.quote AS words,
    -- The order stands in a subquery: group_concat takes one itself only from SQLite 3.44 on, and an older browser
    -- could not open the database at all.
    (SELECT group_concat(said, '; ') FROM (
        SELECT r.quantity || ' ' || coalesce(r.low, '…')
            || iif(r.high IS r.low, '', ' to ' || coalesce(r.high, '…')) || ' ' || r.unit AS said
        FROM condition c JOIN reading r ON r.source = c.source AND r.n = c.reading
        WHERE c.source = t.source AND c.trial = t.n ORDER BY c.n)) AS conditions,
    s.name AS source, s.hash, t.start_byte, t.end_byte
FROM trial t JOIN source s USING (source)
WHERE s.state = 'live';

-- What stands open before departure, most pressing first.
CREATE VIEW open_items AS
SELECT m.name, m.gear, m.about, m.why,
    strftime('%Y-%m-%d %H:%M:%S', m.at / 1000 + m.at_offset, 'unixepoch') AS since_aboard,
    (SELECT s.name FROM evidence e JOIN source s USING (source) WHERE e.matter = m.name ORDER BY e.n LIMIT 1)
        AS source
FROM matter m
WHERE m.state = 'open'
ORDER BY m.n;

-- What was opened and is closed.
CREATE VIEW closed_items AS
SELECT m.name, m.gear, m.about, m.why,
    strftime('%Y-%m-%d %H:%M:%S', m.at / 1000 + m.at_offset, 'unixepoch') AS since_aboard
FROM matter m
WHERE m.state = 'closed'
ORDER BY m.n;

-- What could not be used, and what to do about it.
CREATE VIEW notices AS
SELECT s.name AS source, n.line, n.message, n.hint, n.start_byte, n.end_byte, s.hash
FROM notice n JOIN source s USING (source)
WHERE s.state = 'live';

-- The words themselves.
CREATE VIEW words AS
SELECT strftime('%Y-%m-%d %H:%M:%S', u.at / 1000 + u.at_offset, 'unixepoch') AS time_aboard,
    u.text, u.kind, s.name AS source, s.hash, u.start_byte, u.end_byte
FROM utterance u JOIN source s USING (source)
WHERE s.state = 'live';

-- Dates that something is due or expires.
CREATE VIEW dues AS
SELECT d.gear, d.what, d.from_day, d.until_day, d.said AS words, s.name AS source, s.hash
FROM due d JOIN source s USING (source)
WHERE s.state = 'live';

-- What notes tell of the life of gear.
CREATE VIEW events AS
SELECT e.gear, e.what, e.on_day,
    strftime('%Y-%m-%d %H:%M:%S', e.at / 1000 + e.at_offset, 'unixepoch') AS time_aboard,
    e.quote AS words, s.name AS source, s.hash, e.start_byte, e.end_byte
FROM event e JOIN source s USING (source)
WHERE s.state = 'live';

-- The boat's instruments: what there is of each channel.
CREATE VIEW channels AS
SELECT c.quantity, c.reference, c.unit, c.sender, c.instance,
    strftime('%Y-%m-%d %H:%MZ', min(p.first) * 60, 'unixepoch') AS first_utc,
    strftime('%Y-%m-%d %H:%MZ', max(p.last) * 60, 'unixepoch') AS last_utc,
    sum(p.minutes) AS minutes, sum(p.samples) AS samples, count(*) AS logs, c.channel
FROM channel c JOIN span p USING (channel) JOIN source s USING (source)
WHERE s.state = 'live'
GROUP BY c.channel
ORDER BY c.quantity, c.reference, c.sender, c.instance;

-- Every channel minute by minute.
CREATE VIEW minutes AS
SELECT c.quantity, c.reference, c.unit, c.sender, c.instance,
    strftime('%Y-%m-%d %H:%MZ', m.minute * 60, 'unixepoch') AS time_utc,
    m.count, m.min, m.mean, m.max, s.name AS source, s.hash, m.channel, m.minute
FROM minute m JOIN channel c USING (channel) JOIN source s USING (source)
WHERE s.state = 'live';

-- The skipper's word, with the whole line as it was written.
CREATE VIEW decisions AS
SELECT strftime('%Y-%m-%d %H:%M:%SZ', time / 1000, 'unixepoch') AS time_utc, device, kind, item, stands, line
FROM decision
ORDER BY time, id;
