-- The history, which is laid afresh behind each step, knows now what was taken back; and every row has
-- a check sum, so that one which changed by itself can be found.

CREATE TABLE row_checksum (
    table_name TEXT    NOT NULL,
    row        INTEGER NOT NULL,
    value      INTEGER NOT NULL,              -- CRC-32 of its values
    PRIMARY KEY (table_name, row)
) STRICT, WITHOUT ROWID;
