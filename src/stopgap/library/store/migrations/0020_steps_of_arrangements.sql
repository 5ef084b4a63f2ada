-- The largest step that melts may be kept with an arrangement: softer for one work, bolder for another.

ALTER TABLE arrangement ADD COLUMN step REAL CHECK (step > 0);
