-- The second form. Every row beside the ledger carries a seal (inventory/seal.go); a new
-- column goes into its row's seal. Rows of version 1 are verified under their
-- old seals and sealed anew by the Go step (inventory/sqlite/reseal.go).

-- No row that holds nothing is kept, so that none can go unseen.
DELETE FROM sizes WHERE on_hand = 0 AND reserved = 0;

-- A seal of zeros fits no row.
ALTER TABLE lots ADD COLUMN seal BLOB NOT NULL DEFAULT x'0000000000000000000000000000000000000000000000000000000000000000' CHECK (length(seal) = 32);
ALTER TABLE sizes ADD COLUMN seal BLOB NOT NULL DEFAULT x'0000000000000000000000000000000000000000000000000000000000000000' CHECK (length(seal) = 32);
ALTER TABLE diameters ADD COLUMN seal BLOB NOT NULL DEFAULT x'0000000000000000000000000000000000000000000000000000000000000000' CHECK (length(seal) = 32);

-- A plan is promised pieces of a lot: a hold names the lot. What older plans
-- hold by size goes to the lots as a fit took them, used pieces first, the
-- oldest plan first.
ALTER TABLE holds RENAME TO holds_by_size_1;
DROP INDEX holds_by_size;
CREATE TABLE holds (
    job         INTEGER NOT NULL REFERENCES jobs (id),
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL CHECK (size_nm = CASE WHEN mic_nm <> 0 THEN mic_nm ELSE stamp_nm END),
    stamp_nm    INTEGER NOT NULL,
    mic_nm      INTEGER NOT NULL,
    used        INTEGER NOT NULL CHECK (used IN (0, 1)),
    bin         TEXT NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    plan_seq    INTEGER NOT NULL,
    seal        BLOB NOT NULL DEFAULT x'0000000000000000000000000000000000000000000000000000000000000000' CHECK (length(seal) = 32),
    PRIMARY KEY (job, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin),
    FOREIGN KEY (diameter_nm, size_nm) REFERENCES sizes (diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
CREATE INDEX holds_by_size ON holds (diameter_nm, size_nm);
INSERT INTO holds (job, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, plan_seq)
SELECT h.job, l.diameter_nm, l.size_nm, l.stamp_nm, l.mic_nm, l.used, l.bin,
    min(h.upto, l.upto) - max(h.upto - h.count, l.upto - l.count), h.plan_seq
FROM (SELECT *, sum(count) OVER (PARTITION BY diameter_nm, size_nm ORDER BY plan_seq, job ROWS UNBOUNDED PRECEDING) AS upto FROM holds_by_size_1) h
JOIN (SELECT *, sum(count) OVER (PARTITION BY diameter_nm, size_nm ORDER BY used DESC, stamp_nm, mic_nm, bin ROWS UNBOUNDED PRECEDING) AS upto FROM lots) l
    ON l.diameter_nm = h.diameter_nm AND l.size_nm = h.size_nm
WHERE min(h.upto, l.upto) > max(h.upto - h.count, l.upto - l.count);
DROP TABLE holds_by_size_1;

-- A job that was closed although some valve was not proven.
ALTER TABLE jobs ADD COLUMN anyway INTEGER NOT NULL DEFAULT 0 CHECK (anyway IN (0, 1));

-- How many rows there are of a kind: in all, of a job, of a diameter and size.
-- A row that is gone, or that an index hides, shows in the count.
CREATE TABLE counts (
    what        TEXT NOT NULL,
    job         INTEGER NOT NULL,              -- 0: of all jobs
    diameter_nm INTEGER NOT NULL,              -- 0: of all sizes
    size_nm     INTEGER NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    head        BLOB CHECK (length(head) = 32), -- of the ledger: its last hash
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (what, job, diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;

-- Jobs are looked through row by row: an index could hide one.
DROP INDEX jobs_by_state;
DROP INDEX jobs_by_tag;
DROP INDEX jobs_by_engine;

-- Fields of a job that were mended, with what stood there before.
CREATE TABLE edits (
    job    INTEGER NOT NULL REFERENCES jobs (id),
    number INTEGER NOT NULL CHECK (number > 0),
    field  TEXT NOT NULL CHECK (field IN ('tag', 'meter', 'note', 'engine')),
    old    TEXT NOT NULL,
    new    TEXT NOT NULL,
    time   TEXT NOT NULL,
    who    TEXT NOT NULL,
    seal   BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;

-- The piece of the box that sits in the valve until its own shim is at hand.
ALTER TABLE placements ADD COLUMN temporary_nm INTEGER NOT NULL DEFAULT 0 CHECK (temporary_nm >= 0);

-- What a piece is bought on. Job 0 is the shop: what is on order and no job
-- needs. Pieces on order for a job at its end go over to it.
ALTER TABLE placements ADD COLUMN supplier TEXT NOT NULL DEFAULT '';
ALTER TABLE placements ADD COLUMN part TEXT NOT NULL DEFAULT '';
ALTER TABLE purchases RENAME TO purchases_1;
DROP INDEX purchases_by_size;
CREATE TABLE purchases (
    job         INTEGER NOT NULL CHECK (job >= 0),
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    supplier    TEXT NOT NULL,
    part        TEXT NOT NULL,
    price       INTEGER NOT NULL CHECK (price >= -1), -- -1: not known
    needed      INTEGER NOT NULL CHECK (needed >= 0),
    ordered     INTEGER NOT NULL CHECK (ordered >= 0),
    arrived     INTEGER NOT NULL CHECK (arrived BETWEEN 0 AND ordered),
    seal        BLOB NOT NULL DEFAULT x'0000000000000000000000000000000000000000000000000000000000000000' CHECK (length(seal) = 32),
    PRIMARY KEY (job, diameter_nm, size_nm, supplier, part, price),
    CHECK (job > 0 OR needed = 0 AND arrived = 0)
) STRICT, WITHOUT ROWID;
CREATE INDEX purchases_by_size ON purchases (diameter_nm, size_nm);
INSERT INTO purchases (job, diameter_nm, size_nm, supplier, part, price, needed, ordered, arrived)
SELECT p.job, p.diameter_nm, p.size_nm, '', '', coalesce(p.price, -1), p.needed, p.ordered, p.arrived
FROM purchases_1 p JOIN jobs j ON j.id = p.job WHERE j.state NOT IN ('closed', 'cancelled');
INSERT INTO purchases (job, diameter_nm, size_nm, supplier, part, price, needed, ordered, arrived)
SELECT 0, p.diameter_nm, p.size_nm, '', '', coalesce(p.price, -1), 0, sum(p.ordered - p.arrived), 0
FROM purchases_1 p JOIN jobs j ON j.id = p.job WHERE j.state IN ('closed', 'cancelled')
GROUP BY p.diameter_nm, p.size_nm, coalesce(p.price, -1) HAVING sum(p.ordered - p.arrived) > 0;
DROP TABLE purchases_1;

-- What was booked under a key, with a digest of the request: given again it is
-- not booked again.
CREATE TABLE commands (
    key    TEXT NOT NULL PRIMARY KEY CHECK (key <> ''),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    batch  INTEGER NOT NULL CHECK (batch >= 0), -- 0: no piece was moved
    answer TEXT NOT NULL,                       -- as it was printed
    status INTEGER NOT NULL,
    seal   BLOB NOT NULL CHECK (length(seal) = 32)
) STRICT, WITHOUT ROWID;
