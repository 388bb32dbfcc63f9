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

-- The engine's temperature, in thousandths of a kelvin; 0: not known, as in rows of
-- versions 1 and 2.
ALTER TABLE readings ADD COLUMN temperature_mk INTEGER NOT NULL DEFAULT 0 CHECK (temperature_mk >= 0);
