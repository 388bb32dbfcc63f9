-- The third form, not released yet: tables and columns may still be added here.

-- What a piece that came in was to be bought on: NULL where nobody waited for it
-- and for rows of versions 1 and 2, whose hashes know none of it.
ALTER TABLE movements ADD COLUMN supplier TEXT;
ALTER TABLE movements ADD COLUMN part TEXT CHECK ((part IS NULL) = (supplier IS NULL));
ALTER TABLE movements ADD COLUMN asked INTEGER CHECK (asked IS NULL OR asked >= 0 AND supplier IS NOT NULL); -- the price; NULL: not known
ALTER TABLE movements ADD COLUMN unordered INTEGER NOT NULL DEFAULT 0 CHECK (unordered IN (0, 1) AND (unordered = 0 OR supplier IS NOT NULL)); -- 1: nobody had ordered it
