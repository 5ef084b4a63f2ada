-- How much of a pencil is left, and why it is avoided. A file may have had such columns before they
-- were known; what of them is not understood keeps its place under another heading.

ALTER TABLE swatch ADD COLUMN stock TEXT
    CHECK (stock IN ('full', 'half', 'stub', 'empty', 'none'));
ALTER TABLE swatch ADD COLUMN avoid TEXT NOT NULL DEFAULT '';

UPDATE swatch
   SET stock = (SELECT lower(trim(own.value)) FROM json_each(swatch.extra) AS own
                 WHERE lower(trim(own.key)) = 'stock' AND own.type = 'text'
                   AND lower(trim(own.value)) IN ('full', 'half', 'stub', 'empty', 'none')
                 LIMIT 1),
       avoid = coalesce((SELECT trim(own.value) FROM json_each(swatch.extra) AS own
                          WHERE lower(trim(own.key)) = 'avoid' AND own.type = 'text'
                            AND lower(trim(own.value)) NOT IN ('no', 'n', 'false', '0')
                          LIMIT 1), '');
UPDATE swatch
   SET extra = (SELECT json_group_object(iif(lower(trim(own.key)) IN ('stock', 'avoid'),
                                             own.key || ' (as written)', own.key), own.value)
                  FROM json_each(swatch.extra) AS own
                 WHERE lower(trim(own.key)) NOT IN ('stock', 'avoid')
                    OR lower(trim(own.key)) = 'stock' AND lower(trim(own.value)) IS NOT stock)
 WHERE EXISTS (SELECT 1 FROM json_each(swatch.extra) AS own
                WHERE lower(trim(own.key)) IN ('stock', 'avoid'));
UPDATE further_swatch
   SET extra = (SELECT json_group_object(iif(lower(trim(own.key)) IN ('stock', 'avoid'),
                                             own.key || ' (as written)', own.key), own.value)
                  FROM json_each(further_swatch.extra) AS own)
 WHERE EXISTS (SELECT 1 FROM json_each(further_swatch.extra) AS own
                WHERE lower(trim(own.key)) IN ('stock', 'avoid'));
