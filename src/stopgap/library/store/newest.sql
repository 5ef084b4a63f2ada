CREATE TABLE colour_range (
    id            INTEGER PRIMARY KEY,
    name          TEXT    NOT NULL UNIQUE COLLATE NOCASE,
    white         TEXT    NOT NULL,           -- illuminant of the entries, CIE name
    observer      INTEGER NOT NULL CHECK (observer IN (2, 10)),
    white_assumed INTEGER NOT NULL CHECK (white_assumed IN (0, 1)),
    origin        TEXT    NOT NULL            -- file name, empty where entered by hand
, paper TEXT, shift TEXT NOT NULL DEFAULT '[0.0, 0.0, 0.0]', mapping TEXT, correction TEXT) STRICT;
CREATE TABLE swatch (
    id                  INTEGER PRIMARY KEY,
    range_id            INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    position            INTEGER NOT NULL,     -- order in the file
    by_hand             INTEGER NOT NULL DEFAULT 0 CHECK (by_hand IN (0, 1)),
    code                TEXT    NOT NULL,
    name                TEXT    NOT NULL,
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
    extra               TEXT    NOT NULL, measurement TEXT NOT NULL DEFAULT '{}', readings    TEXT, covariance  TEXT, opacity  TEXT, pressure TEXT    NOT NULL DEFAULT 'heavy', passes   INTEGER NOT NULL DEFAULT 1 CHECK (passes >= 1), state    TEXT    NOT NULL DEFAULT 'dry', batch    TEXT    NOT NULL DEFAULT '', shared_uncertainty REAL NOT NULL DEFAULT 0
    CHECK (shared_uncertainty >= 0), also TEXT NOT NULL DEFAULT '', section TEXT NOT NULL DEFAULT '', currency TEXT NOT NULL DEFAULT '', lightness REAL, a REAL, b REAL, stock TEXT
    CHECK (stock IN ('full', 'half', 'stub', 'empty', 'none')), avoid TEXT NOT NULL DEFAULT '', sets TEXT NOT NULL DEFAULT '',     -- unknown columns of the file: JSON object
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
CREATE TABLE calibration (
    id   INTEGER PRIMARY KEY,
    hand TEXT NOT NULL                        -- JSON of the fields of a Hand
, paper_id INTEGER REFERENCES paper (id) ON DELETE CASCADE) STRICT;
CREATE TABLE pin (
    id        INTEGER PRIMARY KEY,
    swatch_id INTEGER NOT NULL UNIQUE REFERENCES swatch (id) ON DELETE CASCADE,
    family    TEXT    NOT NULL,
    after_id  INTEGER REFERENCES swatch (id) ON DELETE SET NULL
) STRICT;
CREATE TABLE further_swatch (
    id          INTEGER PRIMARY KEY,
    swatch_id   INTEGER NOT NULL REFERENCES swatch (id) ON DELETE CASCADE,
    position    INTEGER NOT NULL,             -- order among those of the pencil
    by_hand     INTEGER NOT NULL DEFAULT 0 CHECK (by_hand IN (0, 1)),
    lightness   REAL    NOT NULL,             -- these columns as in swatch
    a           REAL    NOT NULL,
    b           REAL    NOT NULL,
    entry       TEXT    NOT NULL,
    source      TEXT    NOT NULL,
    uncertainty REAL    NOT NULL CHECK (uncertainty >= 0),
    paper       TEXT    NOT NULL,
    pressure    TEXT    NOT NULL,
    passes      INTEGER NOT NULL CHECK (passes >= 1),
    state       TEXT    NOT NULL,
    batch       TEXT    NOT NULL,
    measurement TEXT    NOT NULL,
    readings    TEXT,
    covariance  TEXT,
    extra       TEXT    NOT NULL
, shared_uncertainty REAL NOT NULL DEFAULT 0
    CHECK (shared_uncertainty >= 0), section TEXT NOT NULL DEFAULT '') STRICT;
CREATE INDEX further_by_swatch ON further_swatch (swatch_id, position);
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
CREATE TABLE edition (
    id     INTEGER PRIMARY KEY,
    number TEXT NOT NULL UNIQUE CHECK (length(number) = 6), -- that of its marks
    pages  TEXT NOT NULL                                    -- JSON of swatches.Edition.as_data
, laid TEXT NOT NULL DEFAULT '[]') STRICT;
CREATE TABLE arrangement (
    id       INTEGER PRIMARY KEY,
    name     TEXT    NOT NULL UNIQUE,
    in_use   INTEGER NOT NULL,
    fills    INTEGER NOT NULL,
    families TEXT    NOT NULL
, step REAL CHECK (step > 0)) STRICT;
CREATE TABLE range_shift (
    range_id     INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    reference_id INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    flare        REAL,
    gain         REAL,
    own          REAL,                        -- what it leaves each colour unsure by, ΔE00
    size         REAL,                        -- mean ΔE00 that it moves colours by
    PRIMARY KEY (range_id, reference_id)
) STRICT;
CREATE INDEX shift_by_reference ON range_shift (reference_id);
CREATE TRIGGER shift_of_new_swatch AFTER INSERT ON swatch BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.range_id OR reference_id = NEW.range_id;
END;
CREATE TRIGGER shift_of_swatch AFTER UPDATE OF lightness, a, b, pressure, passes, state ON swatch
BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.range_id OR reference_id = NEW.range_id;
END;
CREATE TRIGGER shift_of_new_further AFTER INSERT ON further_swatch BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_further AFTER UPDATE OF lightness, a, b, pressure, passes, state
ON further_swatch BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_new_decision AFTER INSERT ON decision
WHEN NEW.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_decision AFTER UPDATE ON decision
WHEN NEW.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_forgotten_decision AFTER DELETE ON decision
WHEN OLD.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = OLD.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = OLD.swatch_id);
END;
CREATE TRIGGER shift_of_range AFTER UPDATE OF correction, shift ON colour_range BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.id OR reference_id = NEW.id;
END;
CREATE TABLE row_checksum (
    table_name TEXT    NOT NULL,
    row        INTEGER NOT NULL,
    value      INTEGER NOT NULL,              -- CRC-32 of its values
    PRIMARY KEY (table_name, row)
) STRICT, WITHOUT ROWID;
