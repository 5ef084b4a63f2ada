-- How a swatch was laid, and how much a pencil covers; what nobody said is heavy, once, and dry.

ALTER TABLE swatch ADD COLUMN opacity  TEXT;     -- NULL where nobody said
ALTER TABLE swatch ADD COLUMN pressure TEXT    NOT NULL DEFAULT 'heavy';
ALTER TABLE swatch ADD COLUMN passes   INTEGER NOT NULL DEFAULT 1 CHECK (passes >= 1);
ALTER TABLE swatch ADD COLUMN state    TEXT    NOT NULL DEFAULT 'dry';
ALTER TABLE swatch ADD COLUMN batch    TEXT    NOT NULL DEFAULT '';
