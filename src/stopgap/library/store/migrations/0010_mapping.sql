-- What the user agreed on about the columns of a range's file, so that a newer file need not ask.

ALTER TABLE colour_range ADD COLUMN mapping TEXT;  -- JSON, NULL where nothing had to be agreed on
