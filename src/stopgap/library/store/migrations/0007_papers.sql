-- The drawer of papers. What was learnt without naming a paper keeps a row without one.

CREATE TABLE paper (
    id         INTEGER PRIMARY KEY,
    name       TEXT    NOT NULL UNIQUE COLLATE NOCASE,
    former     TEXT    NOT NULL DEFAULT '[]', -- names it had: JSON array
    lightness  REAL    NOT NULL,              -- CIE L*, a*, b* under D50, 2 degree observer
    a          REAL    NOT NULL,
    b          REAL    NOT NULL,
    measured   INTEGER NOT NULL CHECK (measured IN (0, 1)),
    grain      TEXT    NOT NULL,              -- empty where nobody said it
    is_default INTEGER NOT NULL DEFAULT 0 CHECK (is_default IN (0, 1))
) STRICT;

ALTER TABLE calibration ADD COLUMN paper_id INTEGER REFERENCES paper (id) ON DELETE CASCADE;
