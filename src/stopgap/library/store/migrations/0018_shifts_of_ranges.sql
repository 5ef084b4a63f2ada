-- Which two ranges seem to be measured differently: XYZ' = flare * white + (1 + gain) * XYZ makes of
-- the one what the other would be; NULL where nothing is found that can be believed, no row where
-- nobody looked yet. It follows from the colours and is nobody's change, so that undo leaves it
-- alone. A pencil that goes changes nothing of how the others were measured.

CREATE TABLE range_shift (
    range_id     INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    reference_id INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    flare        REAL,
    gain         REAL,
    own          REAL,                        -- what it leaves each colour unsure by, ΔE00
    size         REAL,                        -- mean ΔE00 that it moves colours by
    PRIMARY KEY (range_id, reference_id)
) STRICT;
CREATE INDEX shift_by_reference ON range_shift (reference_id);

CREATE TRIGGER shift_of_new_swatch AFTER INSERT ON swatch BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.range_id OR reference_id = NEW.range_id;
END;
CREATE TRIGGER shift_of_swatch AFTER UPDATE OF lightness, a, b, pressure, passes, state ON swatch
BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.range_id OR reference_id = NEW.range_id;
END;
CREATE TRIGGER shift_of_new_further AFTER INSERT ON further_swatch BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_further AFTER UPDATE OF lightness, a, b, pressure, passes, state
ON further_swatch BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_new_decision AFTER INSERT ON decision
WHEN NEW.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_decision AFTER UPDATE ON decision
WHEN NEW.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = NEW.swatch_id);
END;
CREATE TRIGGER shift_of_forgotten_decision AFTER DELETE ON decision
WHEN OLD.field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state') BEGIN
    DELETE FROM range_shift
     WHERE range_id = (SELECT range_id FROM swatch WHERE id = OLD.swatch_id)
        OR reference_id = (SELECT range_id FROM swatch WHERE id = OLD.swatch_id);
END;
CREATE TRIGGER shift_of_range AFTER UPDATE OF correction, shift ON colour_range BEGIN
    DELETE FROM range_shift WHERE range_id = NEW.id OR reference_id = NEW.id;
END;
