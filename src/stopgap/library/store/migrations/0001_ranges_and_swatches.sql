-- Ranges and their swatches as the files stated them, and apart from them what the user decided.

CREATE TABLE colour_range (
    id            INTEGER PRIMARY KEY,
    name          TEXT    NOT NULL UNIQUE COLLATE NOCASE,
    white         TEXT    NOT NULL,           -- illuminant of the entries, CIE name
    observer      INTEGER NOT NULL CHECK (observer IN (2, 10)),
    white_assumed INTEGER NOT NULL CHECK (white_assumed IN (0, 1)),
    origin        TEXT    NOT NULL            -- file name, empty where entered by hand
) STRICT;

CREATE TABLE swatch (
    id                  INTEGER PRIMARY KEY,
    range_id            INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    position            INTEGER NOT NULL,     -- order in the file
    by_hand             INTEGER NOT NULL DEFAULT 0 CHECK (by_hand IN (0, 1)),
    code                TEXT    NOT NULL,
    name                TEXT    NOT NULL,
    lightness           REAL    NOT NULL,     -- CIE L*, a*, b* under D50, 2 degree observer
    a                   REAL    NOT NULL,
    b                   REAL    NOT NULL,
    entry               TEXT    NOT NULL,     -- the colour as entered: JSON {"kind": …, "values": …}
    owned               INTEGER NOT NULL CHECK (owned IN (0, 1)),
    status              TEXT    NOT NULL,
    finish              TEXT    NOT NULL,
    core                TEXT,
    lightfastness       INTEGER,
    lightfastness_scale TEXT,
    price               REAL    CHECK (price >= 0),
    laydown             INTEGER CHECK (laydown BETWEEN 1 AND 5),
    source              TEXT    NOT NULL,
    uncertainty         REAL    NOT NULL CHECK (uncertainty >= 0),
    paper               TEXT    NOT NULL,
    note                TEXT    NOT NULL,
    extra               TEXT    NOT NULL,     -- unknown columns of the file: JSON object
    UNIQUE (range_id, code)
) STRICT;

CREATE TABLE decision (
    id        INTEGER PRIMARY KEY,
    swatch_id INTEGER NOT NULL REFERENCES swatch (id) ON DELETE CASCADE,
    field     TEXT    NOT NULL,               -- a column of swatch that the user overrides
    value     ANY,
    UNIQUE (swatch_id, field)
) STRICT;

CREATE INDEX swatch_by_range ON swatch (range_id, position);
