-- Under which heading a swatch stood, and what the price of its pencil is in. A file may have had
-- such columns before they were known.

ALTER TABLE swatch ADD COLUMN section TEXT NOT NULL DEFAULT '';
ALTER TABLE swatch ADD COLUMN currency TEXT NOT NULL DEFAULT '';
ALTER TABLE further_swatch ADD COLUMN section TEXT NOT NULL DEFAULT '';

-- a price has one currency, that of the first of its swatches which says one
CREATE TEMPORARY TABLE stated AS
SELECT swatch.id AS swatch_id, -1 AS position, own.value AS currency
  FROM swatch, json_each(swatch.extra) AS own
 WHERE lower(trim(own.key)) = 'currency' AND own.type = 'text'
UNION ALL
SELECT further.swatch_id, further.position, own.value
  FROM further_swatch AS further, json_each(further.extra) AS own
 WHERE lower(trim(own.key)) = 'currency' AND own.type = 'text';
UPDATE swatch
   SET currency = (SELECT stated.currency FROM stated WHERE swatch_id = swatch.id
                    ORDER BY position LIMIT 1)
 WHERE id IN (SELECT swatch_id FROM stated);
DROP TABLE stated;

UPDATE swatch
   SET section = coalesce((SELECT own.value FROM json_each(swatch.extra) AS own
                            WHERE lower(trim(own.key)) = 'section' AND own.type = 'text'
                            LIMIT 1), '');
UPDATE further_swatch
   SET section = coalesce((SELECT own.value FROM json_each(further_swatch.extra) AS own
                            WHERE lower(trim(own.key)) = 'section' AND own.type = 'text'
                            LIMIT 1), '');

-- what was taken over goes; a currency that another swatch says otherwise stays with that swatch
UPDATE swatch
   SET extra = (SELECT json_group_object(own.key, own.value) FROM json_each(swatch.extra) AS own
                 WHERE (lower(trim(own.key)), own.value)
                       NOT IN (VALUES ('section', section), ('currency', currency)))
 WHERE section <> '' OR currency <> '';
UPDATE further_swatch
   SET extra = (SELECT json_group_object(own.key, own.value)
                  FROM json_each(further_swatch.extra) AS own
                 WHERE (lower(trim(own.key)), own.value)
                       NOT IN (VALUES ('section', further_swatch.section),
                                      ('currency', swatch.currency)))
  FROM swatch
 WHERE swatch.id = further_swatch.swatch_id
   AND (further_swatch.section <> '' OR swatch.currency <> '');
