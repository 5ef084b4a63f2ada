-- What the user's own layered swatches taught about paper, hand and pencils; the newest row counts.

CREATE TABLE calibration (
    id   INTEGER PRIMARY KEY,
    hand TEXT NOT NULL                        -- JSON of the fields of a Hand
) STRICT;
