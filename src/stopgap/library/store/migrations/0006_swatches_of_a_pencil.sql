-- A row of swatch is a pencil with its first swatch; what else was swatched of it stands here.

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
) STRICT;

CREATE INDEX further_by_swatch ON further_swatch (swatch_id, position);
