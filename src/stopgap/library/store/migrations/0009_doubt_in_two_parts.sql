-- The uncertainty of a colour is its own, and a part that it shares with everything of the same scan,
-- or of one range read in one manner. What was the default of a source becomes that source's two
-- parts; what somebody stated stays as it is, with nothing shared.

ALTER TABLE swatch ADD COLUMN shared_uncertainty REAL NOT NULL DEFAULT 0 CHECK (shared_uncertainty >= 0);
ALTER TABLE further_swatch ADD COLUMN shared_uncertainty REAL NOT NULL DEFAULT 0 CHECK (shared_uncertainty >= 0);

UPDATE swatch SET uncertainty = 0.4, shared_uncertainty = 0.3
 WHERE source = 'measured' AND uncertainty = 0.5 AND covariance IS NULL;
UPDATE swatch SET uncertainty = 0.8, shared_uncertainty = 1.5 WHERE source = 'scanned' AND uncertainty = 2.0;
UPDATE swatch SET uncertainty = 1.0, shared_uncertainty = 4.9 WHERE source = 'typed' AND uncertainty = 5.0;
UPDATE further_swatch SET uncertainty = 0.4, shared_uncertainty = 0.3
 WHERE source = 'measured' AND uncertainty = 0.5 AND covariance IS NULL;
UPDATE further_swatch SET uncertainty = 0.8, shared_uncertainty = 1.5 WHERE source = 'scanned' AND uncertainty = 2.0;
UPDATE further_swatch SET uncertainty = 1.0, shared_uncertainty = 4.9 WHERE source = 'typed' AND uncertainty = 5.0;

INSERT INTO decision (swatch_id, field, value)
SELECT swatch_id, 'shared_uncertainty', 0.0 FROM decision WHERE field = 'uncertainty';
