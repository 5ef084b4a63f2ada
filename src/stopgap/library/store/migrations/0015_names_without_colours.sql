-- A pencil of which nobody knows the colour yet is but its name: lightness, a and b are NULL then.
-- SQLite cannot take NOT NULL off a column, so each gives way to one that may be empty.

DROP TRIGGER IF EXISTS swatch_INSERT; -- they name the columns, and are laid afresh behind this step
DROP TRIGGER IF EXISTS swatch_UPDATE;
DROP TRIGGER IF EXISTS swatch_DELETE;

ALTER TABLE swatch RENAME COLUMN lightness TO old_lightness;
ALTER TABLE swatch RENAME COLUMN a TO old_a;
ALTER TABLE swatch RENAME COLUMN b TO old_b;
ALTER TABLE swatch ADD COLUMN lightness REAL; -- CIE L*, a*, b* under D50, 2 degree observer
ALTER TABLE swatch ADD COLUMN a REAL;
ALTER TABLE swatch ADD COLUMN b REAL;
UPDATE swatch SET lightness = old_lightness, a = old_a, b = old_b;
ALTER TABLE swatch DROP COLUMN old_lightness;
ALTER TABLE swatch DROP COLUMN old_a;
ALTER TABLE swatch DROP COLUMN old_b;
