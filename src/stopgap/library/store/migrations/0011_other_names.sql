-- Other and old names of a pencil, in one text. A file may have had such a column before it was known.

ALTER TABLE swatch ADD COLUMN also TEXT NOT NULL DEFAULT '';

UPDATE swatch
   SET also = coalesce(json_extract(extra, '$.also'), json_extract(extra, '$.Also'))
 WHERE json_type(extra, '$.also') = 'text' OR json_type(extra, '$.Also') = 'text';
UPDATE swatch SET extra = json_remove(extra, '$.also', '$.Also') WHERE also <> '';
UPDATE further_swatch SET extra = json_remove(extra, '$.also', '$.Also')
 WHERE swatch_id IN (SELECT id FROM swatch WHERE also <> '');
