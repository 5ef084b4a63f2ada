-- What was scanned of a chart's boxes of several pencils, for learning how they are laid.

ALTER TABLE edition ADD COLUMN laid TEXT NOT NULL DEFAULT '[]'; -- JSON: pencils, pressures, Lab
