-- A library as version 4 of its schema was written: two ranges, decisions, pins, a calibration, a correction.
-- Made by the commands of that time; `sqlite3.Connection.iterdump` and the two numbers that it leaves out.
BEGIN TRANSACTION;
CREATE TABLE calibration (
    id   INTEGER PRIMARY KEY,
    hand TEXT NOT NULL                        -- JSON of the fields of a Hand
) STRICT;
INSERT INTO "calibration" VALUES(1,'{"tooth": 2.5, "tooth_spread": 0.4, "load_spread": 0.3, "loads": {"light": 0.35, "medium": 0.65, "heavy": 1.0}, "opacity": {}, "paper": [96.0, 0.0, 2.0], "swatch_paper": [96.0, 0.0, 2.0], "samples": 3}');
CREATE TABLE change (id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL, at TEXT NOT NULL, open INTEGER NOT NULL);
INSERT INTO "change" VALUES(1,'import of Fen','2026-11-25T21:20:57+00:00',0);
INSERT INTO "change" VALUES(2,'import of Quill','2026-11-25T21:21:01+00:00',0);
INSERT INTO "change" VALUES(3,'editing Fen:F4','2026-11-25T21:21:03+00:00',0);
INSERT INTO "change" VALUES(4,'editing Fen:F3','2026-11-25T21:21:04+00:00',0);
INSERT INTO "change" VALUES(5,'adding Fen:H1','2026-11-25T21:21:04+00:00',0);
INSERT INTO "change" VALUES(6,'own 1 pencils','2026-11-25T21:21:05+00:00',0);
INSERT INTO "change" VALUES(7,'filing Fen:F1 under wines','2026-11-25T21:21:06+00:00',0);
INSERT INTO "change" VALUES(8,'filing Fen:F4 under wines','2026-11-25T21:21:06+00:00',0);
INSERT INTO "change" VALUES(9,'calibration on 3 layered swatches','2026-11-25T21:21:07+00:00',0);
INSERT INTO "change" VALUES(10,'correction of Quill','2026-11-25T21:21:07+00:00',0);
CREATE TABLE colour_range (
    id            INTEGER PRIMARY KEY,
    name          TEXT    NOT NULL UNIQUE COLLATE NOCASE,
    white         TEXT    NOT NULL,           -- illuminant of the entries, CIE name
    observer      INTEGER NOT NULL CHECK (observer IN (2, 10)),
    white_assumed INTEGER NOT NULL CHECK (white_assumed IN (0, 1)),
    origin        TEXT    NOT NULL            -- file name, empty where entered by hand
, paper TEXT, shift TEXT NOT NULL DEFAULT '[0.0, 0.0, 0.0]') STRICT;
INSERT INTO "colour_range" VALUES(1,'Fen','D65',2,1,'fen.csv',NULL,'[0.0, 0.0, 0.0]');
INSERT INTO "colour_range" VALUES(2,'Quill','D50',2,0,'quill.csv',NULL,'[0.5, -0.25, 0.125]');
CREATE TABLE decision (
    id        INTEGER PRIMARY KEY,
    swatch_id INTEGER NOT NULL REFERENCES swatch (id) ON DELETE CASCADE,
    field     TEXT    NOT NULL,               -- a column of swatch that the user overrides
    value     ANY,
    UNIQUE (swatch_id, field)
) STRICT;
INSERT INTO "decision" VALUES(1,4,'lightfastness',6);
INSERT INTO "decision" VALUES(2,4,'lightfastness_scale','BWS');
INSERT INTO "decision" VALUES(3,4,'price',9.5);
INSERT INTO "decision" VALUES(4,4,'note','stub');
INSERT INTO "decision" VALUES(5,3,'lightness',55.0);
INSERT INTO "decision" VALUES(6,3,'a',10.0);
INSERT INTO "decision" VALUES(7,3,'b',-5.0);
INSERT INTO "decision" VALUES(8,3,'source','typed');
INSERT INTO "decision" VALUES(9,3,'uncertainty',5.0);
INSERT INTO "decision" VALUES(10,5,'owned',1);
CREATE TABLE history (sequence INTEGER PRIMARY KEY AUTOINCREMENT, change INTEGER NOT NULL REFERENCES change (id) ON DELETE CASCADE, table_name TEXT NOT NULL, operation TEXT NOT NULL, row INTEGER NOT NULL);
INSERT INTO "history" VALUES(1,1,'colour_range','INSERT',1);
INSERT INTO "history" VALUES(2,1,'swatch','INSERT',1);
INSERT INTO "history" VALUES(3,1,'swatch','INSERT',2);
INSERT INTO "history" VALUES(4,1,'swatch','INSERT',3);
INSERT INTO "history" VALUES(5,1,'swatch','INSERT',4);
INSERT INTO "history" VALUES(6,2,'colour_range','INSERT',2);
INSERT INTO "history" VALUES(7,2,'swatch','INSERT',5);
INSERT INTO "history" VALUES(8,2,'swatch','INSERT',6);
INSERT INTO "history" VALUES(9,3,'decision','INSERT',1);
INSERT INTO "history" VALUES(10,3,'decision','INSERT',2);
INSERT INTO "history" VALUES(11,3,'decision','INSERT',3);
INSERT INTO "history" VALUES(12,3,'decision','INSERT',4);
INSERT INTO "history" VALUES(13,4,'decision','INSERT',5);
INSERT INTO "history" VALUES(14,4,'decision','INSERT',6);
INSERT INTO "history" VALUES(15,4,'decision','INSERT',7);
INSERT INTO "history" VALUES(16,4,'decision','INSERT',8);
INSERT INTO "history" VALUES(17,4,'decision','INSERT',9);
INSERT INTO "history" VALUES(18,5,'swatch','INSERT',7);
INSERT INTO "history" VALUES(19,6,'decision','INSERT',10);
INSERT INTO "history" VALUES(20,7,'pin','INSERT',1);
INSERT INTO "history" VALUES(21,8,'pin','INSERT',2);
INSERT INTO "history" VALUES(22,9,'calibration','INSERT',1);
INSERT INTO "history" VALUES(23,10,'colour_range','UPDATE',2);
CREATE TABLE past_calibration (sequence INTEGER PRIMARY KEY REFERENCES history (sequence) ON DELETE CASCADE, "id", "hand");
INSERT INTO "past_calibration" VALUES(22,1,'{"tooth": 2.5, "tooth_spread": 0.4, "load_spread": 0.3, "loads": {"light": 0.35, "medium": 0.65, "heavy": 1.0}, "opacity": {}, "paper": [96.0, 0.0, 2.0], "swatch_paper": [96.0, 0.0, 2.0], "samples": 3}');
CREATE TABLE past_colour_range (sequence INTEGER PRIMARY KEY REFERENCES history (sequence) ON DELETE CASCADE, "id", "name", "white", "observer", "white_assumed", "origin", "paper", "shift");
INSERT INTO "past_colour_range" VALUES(1,1,'Fen','D65',2,1,'fen.csv',NULL,'[0.0, 0.0, 0.0]');
INSERT INTO "past_colour_range" VALUES(6,2,'Quill','D50',2,0,'quill.csv',NULL,'[0.0, 0.0, 0.0]');
INSERT INTO "past_colour_range" VALUES(23,2,'Quill','D50',2,0,'quill.csv',NULL,'[0.0, 0.0, 0.0]');
CREATE TABLE past_decision (sequence INTEGER PRIMARY KEY REFERENCES history (sequence) ON DELETE CASCADE, "id", "swatch_id", "field", "value");
INSERT INTO "past_decision" VALUES(9,1,4,'lightfastness',6);
INSERT INTO "past_decision" VALUES(10,2,4,'lightfastness_scale','BWS');
INSERT INTO "past_decision" VALUES(11,3,4,'price',9.5);
INSERT INTO "past_decision" VALUES(12,4,4,'note','stub');
INSERT INTO "past_decision" VALUES(13,5,3,'lightness',55.0);
INSERT INTO "past_decision" VALUES(14,6,3,'a',10.0);
INSERT INTO "past_decision" VALUES(15,7,3,'b',-5.0);
INSERT INTO "past_decision" VALUES(16,8,3,'source','typed');
INSERT INTO "past_decision" VALUES(17,9,3,'uncertainty',5.0);
INSERT INTO "past_decision" VALUES(19,10,5,'owned',1);
CREATE TABLE past_pin (sequence INTEGER PRIMARY KEY REFERENCES history (sequence) ON DELETE CASCADE, "id", "swatch_id", "family", "after_id");
INSERT INTO "past_pin" VALUES(20,1,1,'wines',NULL);
INSERT INTO "past_pin" VALUES(21,2,4,'wines',1);
CREATE TABLE past_swatch (sequence INTEGER PRIMARY KEY REFERENCES history (sequence) ON DELETE CASCADE, "id", "range_id", "position", "by_hand", "code", "name", "lightness", "a", "b", "entry", "owned", "status", "finish", "core", "lightfastness", "lightfastness_scale", "price", "laydown", "source", "uncertainty", "paper", "note", "extra", "measurement", "readings", "covariance");
INSERT INTO "past_swatch" VALUES(2,1,1,1,0,'F1','Wet Slate',45.1424959471971,-1.9376109650822703756e+00,-4.32394683006713798079e+00,'{"kind": "lab", "values": [45.2, -1.5, -4.25], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',1,'discontinued','plain','wax',2,'ASTM',2.5,4,'scanned',0.8,'smooth','stub','{"tin": "upper"}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "past_swatch" VALUES(3,2,1,2,0,'F2','Gull Wing',8.00213051400616564006e+01,1.87998319970406058132e-01,2.02134950925840772839e+00,'{"kind": "lab", "values": [80.0, 0.0, 2.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','metallic','oil',7,'BWS',NULL,NULL,'scanned',2.0,'','','{}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "past_swatch" VALUES(4,3,1,3,0,'F3','',6.03918980812002814673e+01,2.18725287145227760272e+01,3.05257393486798349617e+01,'{"kind": "lab", "values": [60.0, 20.0, 30.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','plain','water-soluble',NULL,NULL,NULL,NULL,'scanned',2.0,'','','{"tin": "lower"}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "past_swatch" VALUES(5,4,1,4,0,'F4','Kelp',5.01167374875968363312e+01,-8.32076947103077557699e+00,1.99547149881274741289e+01,'{"kind": "lab", "values": [50.0, -10.0, 20.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','plain',NULL,NULL,NULL,3.0,NULL,'scanned',2.0,'','','{}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "past_swatch" VALUES(7,5,2,1,0,'Q1','Spectral Q1',6.28791414401036377048e+01,-2.39976318215712183237e+01,-2.06469838326724506325e+01,'{"kind": "spectrum", "values": [0.3751333333333333, 0.4317333333333333, 0.47383333333333333, 0.4968333333333333, 0.4982333333333333, 0.47783333333333333, 0.4378333333333333, 0.38273333333333337, 0.3186333333333334, 0.25243333333333334, 0.19153333333333333, 0.14263333333333336, 0.11103333333333333, 0.10033333333333334, 0.11163333333333332, 0.14373333333333335], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2, "readings": [{"kind": "spectrum", "values": [0.3748, 0.4314, 0.4735, 0.4965, 0.4979, 0.4775, 0.4375, 0.3824, 0.3183, 0.2521, 0.1912, 0.1423, 0.1107, 0.1, 0.1113, 0.1434], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}, {"kind": "spectrum", "values": [0.3788, 0.4354, 0.4775, 0.5005, 0.5019, 0.4815, 0.4415, 0.3864, 0.3223, 0.2561, 0.1952, 0.1463, 0.1147, 0.104, 0.1153, 0.1474], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}, {"kind": "spectrum", "values": [0.3718, 0.4284, 0.4705, 0.4935, 0.4949, 0.4745, 0.4345, 0.3794, 0.3153, 0.2491, 0.1882, 0.1393, 0.1077, 0.097, 0.1083, 0.1404], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}]}',0,'current','plain',NULL,NULL,NULL,NULL,NULL,'measured',5.07891654170729234252e-01,'','','{}','{"mode": "M1"}','{"labs": [[62.851257082493404, -24.016592242438016, -20.658826662414278], [63.18457672498445, -23.791518045295447, -20.51783984400666], [62.59940554688485, -24.188944693905867, -20.76619343720225]], "left_out": [], "spread": [[0.0861594146228699, 0.0584985834448554, 0.03656058795446663], [0.0584985834448554, 0.039718617128676664, 0.024823293002627245], [0.03656058795446663, 0.024823293002627245, 0.015514069091039312]]}','[[0.378295099656, 0.0194995278149518, 0.012186862651488876], [0.0194995278149518, 1.1004803404443702, 0.3866774787640609], [0.012186862651488876, 0.38667747876406094, 1.0486095033043275]]');
INSERT INTO "past_swatch" VALUES(8,6,2,2,0,'Q2','Spectral Q2',70.4614160310305,-19.6104424380692,-1.77324495615107196049e+01,'{"kind": "spectrum", "values": [0.4748, 0.5314, 0.5735, 0.5965, 0.5979, 0.5775, 0.5375, 0.4824, 0.4183, 0.3521, 0.2912, 0.2423, 0.2107, 0.2, 0.2113, 0.2434], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}',0,'current','plain',NULL,NULL,NULL,NULL,NULL,'measured',0.5,'','','{}','{"mode": "M1"}',NULL,NULL);
INSERT INTO "past_swatch" VALUES(18,7,1,5,1,'H1','By hand',48.2990326808719,2.63153594901675020874e+01,3.29041068791306869903e+01,'{"kind": "hex", "values": [], "wavelengths": [], "text": "#a5603c", "white": "D65", "observer": 2}',1,'current','plain',NULL,NULL,NULL,NULL,NULL,'typed',5.0,'','','{}','{}',NULL,NULL);
CREATE TABLE pin (
    id        INTEGER PRIMARY KEY,
    swatch_id INTEGER NOT NULL UNIQUE REFERENCES swatch (id) ON DELETE CASCADE,
    family    TEXT    NOT NULL,
    after_id  INTEGER REFERENCES swatch (id) ON DELETE SET NULL
) STRICT;
INSERT INTO "pin" VALUES(1,1,'wines',NULL);
INSERT INTO "pin" VALUES(2,4,'wines',1);
CREATE TABLE swatch (
    id                  INTEGER PRIMARY KEY,
    range_id            INTEGER NOT NULL REFERENCES colour_range (id) ON DELETE CASCADE,
    position            INTEGER NOT NULL,     -- order in the file
    by_hand             INTEGER NOT NULL DEFAULT 0 CHECK (by_hand IN (0, 1)),
    code                TEXT    NOT NULL,
    name                TEXT    NOT NULL,
    lightness           REAL    NOT NULL,     -- CIE L*, a*, b* under D50, 2 degree observer
    a                   REAL    NOT NULL,
    b                   REAL    NOT NULL,
    entry               TEXT    NOT NULL,     -- the colour as entered: JSON {"kind": …, "values": …}
    owned               INTEGER NOT NULL CHECK (owned IN (0, 1)),
    status              TEXT    NOT NULL,
    finish              TEXT    NOT NULL,
    core                TEXT,
    lightfastness       INTEGER,
    lightfastness_scale TEXT,
    price               REAL    CHECK (price >= 0),
    laydown             INTEGER CHECK (laydown BETWEEN 1 AND 5),
    source              TEXT    NOT NULL,
    uncertainty         REAL    NOT NULL CHECK (uncertainty >= 0),
    paper               TEXT    NOT NULL,
    note                TEXT    NOT NULL,
    extra               TEXT    NOT NULL, measurement TEXT NOT NULL DEFAULT '{}', readings    TEXT, covariance  TEXT,     -- unknown columns of the file: JSON object
    UNIQUE (range_id, code)
) STRICT;
INSERT INTO "swatch" VALUES(1,1,1,0,'F1','Wet Slate',45.1424959471971,-1.9376109650822703756e+00,-4.32394683006713798079e+00,'{"kind": "lab", "values": [45.2, -1.5, -4.25], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',1,'discontinued','plain','wax',2,'ASTM',2.5,4,'scanned',0.8,'smooth','stub','{"tin": "upper"}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "swatch" VALUES(2,1,2,0,'F2','Gull Wing',8.00213051400616564006e+01,1.87998319970406058132e-01,2.02134950925840772839e+00,'{"kind": "lab", "values": [80.0, 0.0, 2.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','metallic','oil',7,'BWS',NULL,NULL,'scanned',2.0,'','','{}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "swatch" VALUES(3,1,3,0,'F3','',6.03918980812002814673e+01,2.18725287145227760272e+01,3.05257393486798349617e+01,'{"kind": "lab", "values": [60.0, 20.0, 30.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','plain','water-soluble',NULL,NULL,NULL,NULL,'scanned',2.0,'','','{"tin": "lower"}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "swatch" VALUES(4,1,4,0,'F4','Kelp',5.01167374875968363312e+01,-8.32076947103077557699e+00,1.99547149881274741289e+01,'{"kind": "lab", "values": [50.0, -10.0, 20.0], "wavelengths": [], "text": "", "white": "D65", "observer": 2}',0,'current','plain',NULL,NULL,NULL,3.0,NULL,'scanned',2.0,'','','{}','{"illuminant": "D65", "observer": 2, "assumed": true}',NULL,NULL);
INSERT INTO "swatch" VALUES(5,2,1,0,'Q1','Spectral Q1',6.28791414401036377048e+01,-2.39976318215712183237e+01,-2.06469838326724506325e+01,'{"kind": "spectrum", "values": [0.3751333333333333, 0.4317333333333333, 0.47383333333333333, 0.4968333333333333, 0.4982333333333333, 0.47783333333333333, 0.4378333333333333, 0.38273333333333337, 0.3186333333333334, 0.25243333333333334, 0.19153333333333333, 0.14263333333333336, 0.11103333333333333, 0.10033333333333334, 0.11163333333333332, 0.14373333333333335], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2, "readings": [{"kind": "spectrum", "values": [0.3748, 0.4314, 0.4735, 0.4965, 0.4979, 0.4775, 0.4375, 0.3824, 0.3183, 0.2521, 0.1912, 0.1423, 0.1107, 0.1, 0.1113, 0.1434], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}, {"kind": "spectrum", "values": [0.3788, 0.4354, 0.4775, 0.5005, 0.5019, 0.4815, 0.4415, 0.3864, 0.3223, 0.2561, 0.1952, 0.1463, 0.1147, 0.104, 0.1153, 0.1474], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}, {"kind": "spectrum", "values": [0.3718, 0.4284, 0.4705, 0.4935, 0.4949, 0.4745, 0.4345, 0.3794, 0.3153, 0.2491, 0.1882, 0.1393, 0.1077, 0.097, 0.1083, 0.1404], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}]}',0,'current','plain',NULL,NULL,NULL,NULL,NULL,'measured',5.07891654170729234252e-01,'','','{}','{"mode": "M1"}','{"labs": [[62.851257082493404, -24.016592242438016, -20.658826662414278], [63.18457672498445, -23.791518045295447, -20.51783984400666], [62.59940554688485, -24.188944693905867, -20.76619343720225]], "left_out": [], "spread": [[0.0861594146228699, 0.0584985834448554, 0.03656058795446663], [0.0584985834448554, 0.039718617128676664, 0.024823293002627245], [0.03656058795446663, 0.024823293002627245, 0.015514069091039312]]}','[[0.378295099656, 0.0194995278149518, 0.012186862651488876], [0.0194995278149518, 1.1004803404443702, 0.3866774787640609], [0.012186862651488876, 0.38667747876406094, 1.0486095033043275]]');
INSERT INTO "swatch" VALUES(6,2,2,0,'Q2','Spectral Q2',70.4614160310305,-19.6104424380692,-1.77324495615107196049e+01,'{"kind": "spectrum", "values": [0.4748, 0.5314, 0.5735, 0.5965, 0.5979, 0.5775, 0.5375, 0.4824, 0.4183, 0.3521, 0.2912, 0.2423, 0.2107, 0.2, 0.2113, 0.2434], "wavelengths": [400.0, 420.0, 440.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 580.0, 600.0, 620.0, 640.0, 660.0, 680.0, 700.0], "text": "", "white": "D50", "observer": 2}',0,'current','plain',NULL,NULL,NULL,NULL,NULL,'measured',0.5,'','','{}','{"mode": "M1"}',NULL,NULL);
INSERT INTO "swatch" VALUES(7,1,5,1,'H1','By hand',48.2990326808719,2.63153594901675020874e+01,3.29041068791306869903e+01,'{"kind": "hex", "values": [], "wavelengths": [], "text": "#a5603c", "white": "D65", "observer": 2}',1,'current','plain',NULL,NULL,NULL,NULL,NULL,'typed',5.0,'','','{}','{}',NULL,NULL);
CREATE INDEX swatch_by_range ON swatch (range_id, position);
CREATE TRIGGER colour_range_INSERT AFTER INSERT ON colour_range WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'colour_range', 'INSERT', NEW.id FROM change WHERE open; INSERT INTO past_colour_range VALUES (last_insert_rowid(), NEW."id", NEW."name", NEW."white", NEW."observer", NEW."white_assumed", NEW."origin", NEW."paper", NEW."shift"); END;
CREATE TRIGGER colour_range_UPDATE AFTER UPDATE ON colour_range WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'colour_range', 'UPDATE', OLD.id FROM change WHERE open; INSERT INTO past_colour_range VALUES (last_insert_rowid(), OLD."id", OLD."name", OLD."white", OLD."observer", OLD."white_assumed", OLD."origin", OLD."paper", OLD."shift"); END;
CREATE TRIGGER colour_range_DELETE AFTER DELETE ON colour_range WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'colour_range', 'DELETE', OLD.id FROM change WHERE open; INSERT INTO past_colour_range VALUES (last_insert_rowid(), OLD."id", OLD."name", OLD."white", OLD."observer", OLD."white_assumed", OLD."origin", OLD."paper", OLD."shift"); END;
CREATE TRIGGER swatch_INSERT AFTER INSERT ON swatch WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'swatch', 'INSERT', NEW.id FROM change WHERE open; INSERT INTO past_swatch VALUES (last_insert_rowid(), NEW."id", NEW."range_id", NEW."position", NEW."by_hand", NEW."code", NEW."name", NEW."lightness", NEW."a", NEW."b", NEW."entry", NEW."owned", NEW."status", NEW."finish", NEW."core", NEW."lightfastness", NEW."lightfastness_scale", NEW."price", NEW."laydown", NEW."source", NEW."uncertainty", NEW."paper", NEW."note", NEW."extra", NEW."measurement", NEW."readings", NEW."covariance"); END;
CREATE TRIGGER swatch_UPDATE AFTER UPDATE ON swatch WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'swatch', 'UPDATE', OLD.id FROM change WHERE open; INSERT INTO past_swatch VALUES (last_insert_rowid(), OLD."id", OLD."range_id", OLD."position", OLD."by_hand", OLD."code", OLD."name", OLD."lightness", OLD."a", OLD."b", OLD."entry", OLD."owned", OLD."status", OLD."finish", OLD."core", OLD."lightfastness", OLD."lightfastness_scale", OLD."price", OLD."laydown", OLD."source", OLD."uncertainty", OLD."paper", OLD."note", OLD."extra", OLD."measurement", OLD."readings", OLD."covariance"); END;
CREATE TRIGGER swatch_DELETE AFTER DELETE ON swatch WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'swatch', 'DELETE', OLD.id FROM change WHERE open; INSERT INTO past_swatch VALUES (last_insert_rowid(), OLD."id", OLD."range_id", OLD."position", OLD."by_hand", OLD."code", OLD."name", OLD."lightness", OLD."a", OLD."b", OLD."entry", OLD."owned", OLD."status", OLD."finish", OLD."core", OLD."lightfastness", OLD."lightfastness_scale", OLD."price", OLD."laydown", OLD."source", OLD."uncertainty", OLD."paper", OLD."note", OLD."extra", OLD."measurement", OLD."readings", OLD."covariance"); END;
CREATE TRIGGER decision_INSERT AFTER INSERT ON decision WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'decision', 'INSERT', NEW.id FROM change WHERE open; INSERT INTO past_decision VALUES (last_insert_rowid(), NEW."id", NEW."swatch_id", NEW."field", NEW."value"); END;
CREATE TRIGGER decision_UPDATE AFTER UPDATE ON decision WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'decision', 'UPDATE', OLD.id FROM change WHERE open; INSERT INTO past_decision VALUES (last_insert_rowid(), OLD."id", OLD."swatch_id", OLD."field", OLD."value"); END;
CREATE TRIGGER decision_DELETE AFTER DELETE ON decision WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'decision', 'DELETE', OLD.id FROM change WHERE open; INSERT INTO past_decision VALUES (last_insert_rowid(), OLD."id", OLD."swatch_id", OLD."field", OLD."value"); END;
CREATE TRIGGER calibration_INSERT AFTER INSERT ON calibration WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'calibration', 'INSERT', NEW.id FROM change WHERE open; INSERT INTO past_calibration VALUES (last_insert_rowid(), NEW."id", NEW."hand"); END;
CREATE TRIGGER calibration_UPDATE AFTER UPDATE ON calibration WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'calibration', 'UPDATE', OLD.id FROM change WHERE open; INSERT INTO past_calibration VALUES (last_insert_rowid(), OLD."id", OLD."hand"); END;
CREATE TRIGGER calibration_DELETE AFTER DELETE ON calibration WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'calibration', 'DELETE', OLD.id FROM change WHERE open; INSERT INTO past_calibration VALUES (last_insert_rowid(), OLD."id", OLD."hand"); END;
CREATE TRIGGER pin_INSERT AFTER INSERT ON pin WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'pin', 'INSERT', NEW.id FROM change WHERE open; INSERT INTO past_pin VALUES (last_insert_rowid(), NEW."id", NEW."swatch_id", NEW."family", NEW."after_id"); END;
CREATE TRIGGER pin_UPDATE AFTER UPDATE ON pin WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'pin', 'UPDATE', OLD.id FROM change WHERE open; INSERT INTO past_pin VALUES (last_insert_rowid(), OLD."id", OLD."swatch_id", OLD."family", OLD."after_id"); END;
CREATE TRIGGER pin_DELETE AFTER DELETE ON pin WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN INSERT INTO history (change, table_name, operation, row) SELECT id, 'pin', 'DELETE', OLD.id FROM change WHERE open; INSERT INTO past_pin VALUES (last_insert_rowid(), OLD."id", OLD."swatch_id", OLD."family", OLD."after_id"); END;
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('change',10);
INSERT INTO "sqlite_sequence" VALUES('history',23);
COMMIT;
PRAGMA application_id = 1398032193;
PRAGMA user_version = 4;
