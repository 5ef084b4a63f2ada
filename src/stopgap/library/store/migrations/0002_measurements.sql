-- How each swatch was measured, what repeated readings said, the paper, and a correction on request.

ALTER TABLE swatch ADD COLUMN measurement TEXT NOT NULL DEFAULT '{}';  -- JSON of what was stated
ALTER TABLE swatch ADD COLUMN readings    TEXT;   -- JSON {"labs": …, "left_out": …, "spread": …}
ALTER TABLE swatch ADD COLUMN covariance  TEXT;   -- JSON, three rows of L*, a*, b*
ALTER TABLE colour_range ADD COLUMN paper TEXT;   -- JSON [L, a, b], NULL where nobody measured it
ALTER TABLE colour_range ADD COLUMN shift TEXT NOT NULL DEFAULT '[0.0, 0.0, 0.0]';  -- added to Lab

UPDATE swatch SET measurement = json_object(
    'illuminant', json_extract(entry, '$.white'),
    'observer', json_extract(entry, '$.observer'),
    'assumed', json(CASE (SELECT white_assumed FROM colour_range WHERE id = swatch.range_id)
                    WHEN 1 THEN 'true' ELSE 'false' END)
) WHERE json_extract(entry, '$.kind') IN ('lab', 'xyz');
