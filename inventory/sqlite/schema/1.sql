-- The first released form. Lengths are whole nanometres, prices whole
-- ten-thousandths, times RFC 3339 in UTC, flags 0 or 1.

CREATE TABLE engines (
    id          INTEGER PRIMARY KEY,
    name        TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL CHECK (diameter_nm > 0),
    source      TEXT NOT NULL,                 -- the engine file's text
    spec        TEXT NOT NULL CHECK (json_valid(spec)),
    seal        BLOB NOT NULL UNIQUE CHECK (length(seal) = 32) -- over source and spec
) STRICT;

CREATE TABLE jobs (
    id      INTEGER PRIMARY KEY,
    engine  INTEGER NOT NULL REFERENCES engines (id),
    tag     TEXT NOT NULL,
    meter   TEXT NOT NULL,
    note    TEXT NOT NULL,
    state   TEXT NOT NULL CHECK (state IN ('open', 'measured', 'planned', 'fitting', 'fitted', 'rechecked', 'closed', 'cancelled')),
    who     TEXT NOT NULL,
    opened  TEXT NOT NULL,
    changed TEXT NOT NULL,
    plan    INTEGER NOT NULL CHECK (plan >= 0),
    short   INTEGER NOT NULL CHECK (short >= 0),
    seal    BLOB NOT NULL CHECK (length(seal) = 32)
) STRICT;
CREATE INDEX jobs_by_state ON jobs (state);
CREATE INDEX jobs_by_tag ON jobs (tag);
CREATE INDEX jobs_by_engine ON jobs (engine);

-- The ledger. The box is its sum.
CREATE TABLE movements (
    seq         INTEGER PRIMARY KEY,
    batch       INTEGER NOT NULL CHECK (batch BETWEEN 1 AND seq),
    time        TEXT NOT NULL,
    kind        TEXT NOT NULL CHECK (kind IN ('received', 'fitted', 'pulled', 'counted', 'scrapped', 'corrected')),
    diameter_nm INTEGER NOT NULL CHECK (diameter_nm > 0),
    stamp_nm    INTEGER NOT NULL CHECK (stamp_nm >= 0),
    mic_nm      INTEGER NOT NULL CHECK (mic_nm >= 0),
    used        INTEGER NOT NULL CHECK (used IN (0, 1)),
    bin         TEXT NOT NULL,
    count       INTEGER NOT NULL CHECK (count <> 0),
    job         INTEGER REFERENCES jobs (id),
    valve       TEXT,
    price       INTEGER CHECK (price >= 0),
    who         TEXT NOT NULL,
    note        TEXT NOT NULL,
    reverses    INTEGER CHECK (reverses < seq) REFERENCES movements (seq),
    prev        BLOB NOT NULL CHECK (length(prev) = 32),
    hash        BLOB NOT NULL CHECK (length(hash) = 32),
    size_nm     INTEGER GENERATED ALWAYS AS (CASE WHEN mic_nm <> 0 THEN mic_nm ELSE stamp_nm END) VIRTUAL,
    CHECK (stamp_nm <> 0 OR mic_nm <> 0)
) STRICT;
CREATE INDEX movements_by_size ON movements (diameter_nm, size_nm);
CREATE INDEX movements_by_job ON movements (job) WHERE job IS NOT NULL;
CREATE UNIQUE INDEX movements_by_reversed ON movements (reverses) WHERE reverses IS NOT NULL;

CREATE TRIGGER movements_only_follow BEFORE INSERT ON movements
WHEN NEW.seq <> (SELECT COALESCE(MAX(seq), 0) + 1 FROM movements)
BEGIN SELECT RAISE(ABORT, 'a movement must follow the last one'); END;
CREATE TRIGGER movements_never_change BEFORE UPDATE ON movements
BEGIN SELECT RAISE(ABORT, 'a movement never changes'); END;
CREATE TRIGGER movements_never_go BEFORE DELETE ON movements
BEGIN SELECT RAISE(ABORT, 'a movement is never deleted'); END;

-- Sums of the ledger, kept with it.
CREATE TABLE lots (
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL CHECK (size_nm = CASE WHEN mic_nm <> 0 THEN mic_nm ELSE stamp_nm END),
    stamp_nm    INTEGER NOT NULL,
    mic_nm      INTEGER NOT NULL,
    used        INTEGER NOT NULL CHECK (used IN (0, 1)),
    bin         TEXT NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    PRIMARY KEY (diameter_nm, size_nm, stamp_nm, mic_nm, used, bin)
) STRICT, WITHOUT ROWID;

CREATE TABLE sizes (
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    on_hand     INTEGER NOT NULL CHECK (on_hand >= 0),
    reserved    INTEGER NOT NULL CHECK (reserved BETWEEN 0 AND on_hand),
    PRIMARY KEY (diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;

CREATE TABLE diameters (
    diameter_nm INTEGER PRIMARY KEY,
    revision    INTEGER NOT NULL CHECK (revision > 0) -- counts what changed on hand or reserved
) STRICT;

CREATE TABLE checks (
    job    INTEGER NOT NULL REFERENCES jobs (id),
    number INTEGER NOT NULL CHECK (number > 0),
    kind   TEXT NOT NULL CHECK (kind IN ('before', 'recheck')),
    seq    INTEGER NOT NULL,                   -- the ledger's last row then
    time   TEXT NOT NULL,
    who    TEXT NOT NULL,
    note   TEXT NOT NULL,
    seal   BLOB NOT NULL CHECK (length(seal) = 32),  -- over the readings as well
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE readings (
    job      INTEGER NOT NULL,
    number   INTEGER NOT NULL,
    place    INTEGER NOT NULL,                 -- in the engine's valve order
    valve    TEXT NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN ('unread', 'single', 'bracket', 'below', 'above')),
    low_nm   INTEGER NOT NULL,
    high_nm  INTEGER NOT NULL,
    stamp_nm INTEGER NOT NULL CHECK (stamp_nm >= 0),
    mic_nm   INTEGER NOT NULL CHECK (mic_nm >= 0),
    note     TEXT NOT NULL,
    PRIMARY KEY (job, number, place),
    UNIQUE (job, number, valve),
    FOREIGN KEY (job, number) REFERENCES checks (job, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE plans (
    job      INTEGER NOT NULL REFERENCES jobs (id),
    number   INTEGER NOT NULL CHECK (number > 0),
    seq      INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    time     TEXT NOT NULL,
    who      TEXT NOT NULL,
    document TEXT CHECK (json_valid(document)),
    seal     BLOB NOT NULL CHECK (length(seal) = 32),  -- over the placements as well
    PRIMARY KEY (job, number)
) STRICT;

CREATE TABLE placements (
    job        INTEGER NOT NULL,
    plan       INTEGER NOT NULL,
    place      INTEGER NOT NULL,
    valve      TEXT NOT NULL,
    size_nm    INTEGER NOT NULL CHECK (size_nm > 0),
    source     TEXT NOT NULL CHECK (source IN ('drawn', 'moved', 'bought')),
    from_valve TEXT CHECK ((source = 'moved') = (from_valve IS NOT NULL)),
    price      INTEGER CHECK (price >= 0),
    PRIMARY KEY (job, plan, place),
    UNIQUE (job, plan, valve),
    FOREIGN KEY (job, plan) REFERENCES plans (job, number)
) STRICT, WITHOUT ROWID;

-- Pieces that plans count on.
CREATE TABLE holds (
    job         INTEGER NOT NULL REFERENCES jobs (id),
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    plan_seq    INTEGER NOT NULL,
    PRIMARY KEY (job, diameter_nm, size_nm),
    FOREIGN KEY (diameter_nm, size_nm) REFERENCES sizes (diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
CREATE INDEX holds_by_size ON holds (diameter_nm, size_nm);

CREATE TABLE purchases (
    job         INTEGER NOT NULL REFERENCES jobs (id),
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    needed      INTEGER NOT NULL CHECK (needed >= 0),
    ordered     INTEGER NOT NULL CHECK (ordered >= 0),
    arrived     INTEGER NOT NULL CHECK (arrived BETWEEN 0 AND ordered),
    price       INTEGER CHECK (price >= 0),
    PRIMARY KEY (job, diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
CREATE INDEX purchases_by_size ON purchases (diameter_nm, size_nm);
