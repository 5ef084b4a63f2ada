-- Where the user's eye files a swatch, against the tool's own filing.

CREATE TABLE pin (
    id        INTEGER PRIMARY KEY,
    swatch_id INTEGER NOT NULL UNIQUE REFERENCES swatch (id) ON DELETE CASCADE,
    family    TEXT    NOT NULL,
    after_id  INTEGER REFERENCES swatch (id) ON DELETE SET NULL
) STRICT;
