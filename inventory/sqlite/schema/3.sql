-- The third form, not released yet: tables and columns may still be added here.

-- What a piece that came in was to be bought on: NULL where nobody waited for it
-- and for rows of versions 1 and 2, whose hashes know none of it.
ALTER TABLE movements ADD COLUMN supplier TEXT;
ALTER TABLE movements ADD COLUMN part TEXT CHECK ((part IS NULL) = (supplier IS NULL));
ALTER TABLE movements ADD COLUMN asked INTEGER CHECK (asked IS NULL OR asked >= 0 AND supplier IS NOT NULL); -- the price; NULL: not known
ALTER TABLE movements ADD COLUMN unordered INTEGER NOT NULL DEFAULT 0 CHECK (unordered IN (0, 1) AND (unordered = 0 OR supplier IS NOT NULL)); -- 1: nobody had ordered it

-- A second reading of the valve: NULL where there is none, as in rows of versions
-- 1 and 2, whose seals know none. Tighter is 1 where the tighter of the two counts.
ALTER TABLE readings ADD COLUMN second_low_nm INTEGER;
ALTER TABLE readings ADD COLUMN second_high_nm INTEGER CHECK ((second_high_nm IS NULL) = (second_low_nm IS NULL));
ALTER TABLE readings ADD COLUMN tighter INTEGER NOT NULL DEFAULT 0 CHECK (tighter IN (0, 1) AND (tighter = 0 OR second_low_nm IS NOT NULL));

-- The opener's gap that a closer's loaded gap is reduced by, 0 where the clearance was measured directly.
ALTER TABLE readings ADD COLUMN unloaded_low_nm INTEGER NOT NULL DEFAULT 0;
ALTER TABLE readings ADD COLUMN unloaded_high_nm INTEGER NOT NULL DEFAULT 0 CHECK (unloaded_low_nm <= unloaded_high_nm);
ALTER TABLE readings ADD COLUMN unloaded_twice INTEGER NOT NULL DEFAULT 0 CHECK (unloaded_twice IN (0, 1)); -- 1: the two are two figures of one gap
-- What the closer has less than, where the two gaps were not told apart; 0 where they were.
ALTER TABLE readings ADD COLUMN unloaded_most_nm INTEGER NOT NULL DEFAULT 0 CHECK (unloaded_most_nm >= 0 AND (unloaded_most_nm = 0 OR kind = 'below'));

-- The engine's temperature, in thousandths of a kelvin; 0: not known, as in rows of
-- versions 1 and 2.
ALTER TABLE readings ADD COLUMN temperature_mk INTEGER NOT NULL DEFAULT 0 CHECK (temperature_mk >= 0);

-- Shims of one diameter may be of several families, which never mix: '' are plain discs,
-- the only family of versions 1 and 2. It is in every key.
ALTER TABLE movements ADD COLUMN family TEXT NOT NULL DEFAULT '';
DROP INDEX movements_by_size;
CREATE INDEX movements_by_size ON movements (family, diameter_nm, size_nm);

ALTER TABLE lots RENAME TO lots_2;
CREATE TABLE lots (
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL CHECK (size_nm = CASE WHEN mic_nm <> 0 THEN mic_nm ELSE stamp_nm END),
    stamp_nm    INTEGER NOT NULL,
    mic_nm      INTEGER NOT NULL,
    used        INTEGER NOT NULL CHECK (used IN (0, 1)),
    bin         TEXT NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin)
) STRICT, WITHOUT ROWID;
INSERT INTO lots SELECT '', diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, seal FROM lots_2;
DROP TABLE lots_2;

ALTER TABLE sizes RENAME TO sizes_2;
CREATE TABLE sizes (
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    on_hand     INTEGER NOT NULL CHECK (on_hand >= 0),
    reserved    INTEGER NOT NULL CHECK (reserved BETWEEN 0 AND on_hand),
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (family, diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
INSERT INTO sizes SELECT '', diameter_nm, size_nm, on_hand, reserved, seal FROM sizes_2;

ALTER TABLE holds RENAME TO holds_2;
DROP INDEX holds_by_size;
CREATE TABLE holds (
    job         INTEGER NOT NULL REFERENCES jobs (id),
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL CHECK (size_nm = CASE WHEN mic_nm <> 0 THEN mic_nm ELSE stamp_nm END),
    stamp_nm    INTEGER NOT NULL,
    mic_nm      INTEGER NOT NULL,
    used        INTEGER NOT NULL CHECK (used IN (0, 1)),
    bin         TEXT NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    plan_seq    INTEGER NOT NULL,
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (job, family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin),
    FOREIGN KEY (family, diameter_nm, size_nm) REFERENCES sizes (family, diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
CREATE INDEX holds_by_size ON holds (family, diameter_nm, size_nm);
INSERT INTO holds SELECT job, '', diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, plan_seq, seal FROM holds_2;
DROP TABLE holds_2;
DROP TABLE sizes_2;

ALTER TABLE purchases RENAME TO purchases_2;
DROP INDEX purchases_by_size;
CREATE TABLE purchases (
    job         INTEGER NOT NULL CHECK (job >= 0),
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,
    size_nm     INTEGER NOT NULL,
    supplier    TEXT NOT NULL,
    part        TEXT NOT NULL,
    price       INTEGER NOT NULL CHECK (price >= -1), -- -1: not known
    needed      INTEGER NOT NULL CHECK (needed >= 0),
    ordered     INTEGER NOT NULL CHECK (ordered >= 0),
    arrived     INTEGER NOT NULL CHECK (arrived BETWEEN 0 AND ordered),
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (job, family, diameter_nm, size_nm, supplier, part, price),
    CHECK (job > 0 OR needed = 0 AND arrived = 0)
) STRICT, WITHOUT ROWID;
CREATE INDEX purchases_by_size ON purchases (family, diameter_nm, size_nm);
INSERT INTO purchases SELECT job, '', diameter_nm, size_nm, supplier, part, price, needed, ordered, arrived, seal FROM purchases_2;
DROP TABLE purchases_2;

ALTER TABLE diameters RENAME TO diameters_2;
CREATE TABLE diameters (
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,
    revision    INTEGER NOT NULL CHECK (revision > 0), -- counts what changed on hand, reserved or on order
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (family, diameter_nm)
) STRICT, WITHOUT ROWID;
INSERT INTO diameters SELECT '', diameter_nm, revision, seal FROM diameters_2;
DROP TABLE diameters_2;

ALTER TABLE counts RENAME TO counts_2;
CREATE TABLE counts (
    what        TEXT NOT NULL,
    job         INTEGER NOT NULL,              -- 0: of all jobs
    family      TEXT NOT NULL,
    diameter_nm INTEGER NOT NULL,              -- 0: of all families and sizes
    size_nm     INTEGER NOT NULL,
    count       INTEGER NOT NULL CHECK (count > 0),
    head        BLOB CHECK (length(head) = 32), -- of the ledger: its last hash
    seal        BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (what, job, family, diameter_nm, size_nm)
) STRICT, WITHOUT ROWID;
INSERT INTO counts SELECT what, job, '', diameter_nm, size_nm, count, head, seal FROM counts_2;
DROP TABLE counts_2;

-- A fresh build: what was in are set-up shims of the bench set, or none.
ALTER TABLE jobs ADD COLUMN build INTEGER NOT NULL DEFAULT 0 CHECK (build IN (0, 1));
