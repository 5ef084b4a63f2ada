-- The sets that a pencil is sold in, with their prices, as JSON. A file may have had such columns before
-- they were known; they keep their place under another heading.

ALTER TABLE swatch ADD COLUMN sets TEXT NOT NULL DEFAULT '';

UPDATE swatch
   SET extra = (SELECT json_group_object(iif(lower(trim(own.key)) IN ('set', 'set_price'),
                                             own.key || ' (as written)', own.key), own.value)
                  FROM json_each(swatch.extra) AS own)
 WHERE EXISTS (SELECT 1 FROM json_each(swatch.extra) AS own
                WHERE lower(trim(own.key)) IN ('set', 'set_price'));
UPDATE further_swatch
   SET extra = (SELECT json_group_object(iif(lower(trim(own.key)) IN ('set', 'set_price'),
                                             own.key || ' (as written)', own.key), own.value)
                  FROM json_each(further_swatch.extra) AS own)
 WHERE EXISTS (SELECT 1 FROM json_each(further_swatch.extra) AS own
                WHERE lower(trim(own.key)) IN ('set', 'set_price'));
