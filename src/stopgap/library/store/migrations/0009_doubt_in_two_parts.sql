-- The uncertainty of a colour is its own, and a part that it shares with everything of one scan, or
-- of one range read in one manner. What was the default of a source becomes that source's two
-- parts; what somebody stated stays as it is, with nothing shared.

CREATE TEMPORARY TABLE parts (source TEXT, before REAL, own REAL, shared REAL);
INSERT INTO parts VALUES ('measured', 0.5, 0.4, 0.3);
INSERT INTO parts VALUES ('scanned', 2.0, 0.8, 1.5);
INSERT INTO parts VALUES ('typed', 5.0, 1.0, 4.9);

ALTER TABLE swatch ADD COLUMN shared_uncertainty REAL NOT NULL DEFAULT 0
    CHECK (shared_uncertainty >= 0);
ALTER TABLE further_swatch ADD COLUMN shared_uncertainty REAL NOT NULL DEFAULT 0
    CHECK (shared_uncertainty >= 0);

UPDATE swatch SET uncertainty = parts.own, shared_uncertainty = parts.shared
  FROM parts
 WHERE parts.source = swatch.source AND parts.before = swatch.uncertainty AND covariance IS NULL;
UPDATE further_swatch SET uncertainty = parts.own, shared_uncertainty = parts.shared
  FROM parts
 WHERE parts.source = further_swatch.source AND parts.before = further_swatch.uncertainty
   AND covariance IS NULL;

-- what the user decided: a source brought its default with it
INSERT INTO decision (swatch_id, field, value)
SELECT said.swatch_id, 'shared_uncertainty', coalesce(parts.shared, 0.0)
  FROM decision AS said
  LEFT JOIN decision AS source ON source.swatch_id = said.swatch_id AND source.field = 'source'
  LEFT JOIN parts ON parts.source = source.value AND parts.before = said.value
 WHERE said.field = 'uncertainty';
UPDATE decision SET value = parts.own
  FROM parts, decision AS source
 WHERE decision.field = 'uncertainty' AND source.swatch_id = decision.swatch_id
   AND source.field = 'source' AND parts.source = source.value AND parts.before = decision.value;

DROP TABLE parts;
