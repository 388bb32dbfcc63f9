-- The fourth form, not released yet: tables and columns may still be added here.

-- Rows whose content only the rules read: machines, gauges, certificates, visits
-- to other shops, levels, suppliers, price lists. Each kind is numbered 1, 2, 3, …
CREATE TABLE records (
    kind   TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number > 0),
    name   TEXT NOT NULL,
    owner  INTEGER NOT NULL CHECK (owner >= 0), -- the job or machine that it belongs to, or 0
    body   TEXT NOT NULL,
    seal   BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (kind, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX records_by_name ON records (kind, name);
CREATE INDEX records_by_owner ON records (kind, owner);

-- The machine that a job is a visit of, 0 for none; what the meter before had
-- read where another one was put in; what was done that a trend cannot reach across.
ALTER TABLE jobs ADD COLUMN machine INTEGER NOT NULL DEFAULT 0 CHECK (machine >= 0);
ALTER TABLE jobs ADD COLUMN meter_new TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN reset TEXT NOT NULL DEFAULT '';
CREATE INDEX jobs_by_machine ON jobs (machine);

-- The set of gauges that a check was made with, 0 where nobody said, and what was
-- known of it then.
ALTER TABLE checks ADD COLUMN gauge INTEGER NOT NULL DEFAULT 0 CHECK (gauge >= 0);
ALTER TABLE checks ADD COLUMN gauge_then TEXT NOT NULL DEFAULT '';

-- How the plan counts on the size of a shim from the box: 0 not said, 1 the mark on a
-- new one, 2 a micrometer, 3 the mark on a used one.
ALTER TABLE placements ADD COLUMN counted INTEGER NOT NULL DEFAULT 0 CHECK (counted BETWEEN 0 AND 3);

ALTER TABLE edits RENAME TO edits_3;
CREATE TABLE edits (
    job    INTEGER NOT NULL REFERENCES jobs (id),
    number INTEGER NOT NULL CHECK (number > 0),
    field  TEXT NOT NULL CHECK (field IN ('tag', 'meter', 'meter before', 'reset', 'note', 'engine')),
    old    TEXT NOT NULL,
    new    TEXT NOT NULL,
    time   TEXT NOT NULL,
    who    TEXT NOT NULL,
    seal   BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
INSERT INTO edits SELECT job, number, field, old, new, time, who, seal FROM edits_3;
DROP TABLE edits_3;
