-- Charts as they were printed: what is on which page, in millimetres.

CREATE TABLE edition (
    id     INTEGER PRIMARY KEY,
    number TEXT NOT NULL UNIQUE CHECK (length(number) = 6), -- that of its marks
    pages  TEXT NOT NULL                                    -- JSON of swatches.Edition.as_data
) STRICT;
