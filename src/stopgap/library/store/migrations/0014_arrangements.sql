-- Families of the user's own, several arrangements of them; one may be in use, else the tool's
-- proposal is. `families` is JSON: what each is called, its section, note and places in order.
-- Where pencils were filed before (pin) is read until the first arrangement takes it over.

CREATE TABLE arrangement (
    id       INTEGER PRIMARY KEY,
    name     TEXT    NOT NULL UNIQUE,
    in_use   INTEGER NOT NULL,
    fills    INTEGER NOT NULL,
    families TEXT    NOT NULL
) STRICT;
