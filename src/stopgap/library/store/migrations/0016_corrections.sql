-- A correction of a range is more than a shift in Lab: flare and gain, an affine map, their doubt.

ALTER TABLE colour_range ADD COLUMN correction TEXT;  -- JSON list of steps, NULL for the shift alone
