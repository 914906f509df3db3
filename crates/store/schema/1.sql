CREATE TABLE stroke (
    stroke INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    why TEXT NOT NULL,
    key TEXT UNIQUE,
    sum TEXT NOT NULL
) STRICT;
CREATE TABLE change (
    seq INTEGER PRIMARY KEY,
    stroke INTEGER NOT NULL REFERENCES stroke,
    sort TEXT NOT NULL,
    id TEXT NOT NULL,
    revision INTEGER NOT NULL,
    field TEXT NOT NULL,
    old TEXT NOT NULL,
    new TEXT NOT NULL
) STRICT;
CREATE INDEX change_by_stroke ON change (stroke);
CREATE INDEX change_by_record ON change (sort, id);
CREATE TABLE head (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    stroke INTEGER NOT NULL,
    sum TEXT NOT NULL
) STRICT;
CREATE TABLE record (
    place INTEGER PRIMARY KEY,
    sort TEXT NOT NULL,
    id TEXT NOT NULL,
    revision INTEGER NOT NULL,
    body TEXT,
    sum TEXT NOT NULL,
    UNIQUE (sort, id)
) STRICT;
CREATE TABLE file (
    file INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    media TEXT NOT NULL,
    size INTEGER NOT NULL
) STRICT;
CREATE TABLE chunk (
    file INTEGER NOT NULL REFERENCES file DEFERRABLE INITIALLY DEFERRED,
    part INTEGER NOT NULL,
    bytes BLOB NOT NULL,
    UNIQUE (file, part)
) STRICT;
CREATE TABLE running (
    running INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    media TEXT NOT NULL,
    parts INTEGER NOT NULL,
    size INTEGER NOT NULL,
    sum TEXT NOT NULL
) STRICT;
CREATE TABLE piece (
    running INTEGER NOT NULL REFERENCES running,
    part INTEGER NOT NULL,
    bytes BLOB NOT NULL,
    UNIQUE (running, part)
) STRICT;
CREATE TRIGGER stroke_stays BEFORE UPDATE ON stroke BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER stroke_kept BEFORE DELETE ON stroke BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER change_stays BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER change_kept BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;
CREATE TRIGGER file_stays BEFORE UPDATE ON file BEGIN SELECT RAISE(ABORT, 'files are kept as they came'); END;
CREATE TRIGGER file_kept BEFORE DELETE ON file BEGIN SELECT RAISE(ABORT, 'files are kept as they came'); END;
CREATE TRIGGER chunk_stays BEFORE UPDATE ON chunk BEGIN SELECT RAISE(ABORT, 'files are kept as they came'); END;
CREATE TRIGGER chunk_kept BEFORE DELETE ON chunk BEGIN SELECT RAISE(ABORT, 'files are kept as they came'); END;
CREATE TRIGGER piece_stays BEFORE UPDATE ON piece BEGIN SELECT RAISE(ABORT, 'a log only grows'); END;
CREATE TRIGGER record_kept BEFORE DELETE ON record BEGIN SELECT RAISE(ABORT, 'records are emptied, never deleted'); END;
INSERT INTO head (one, stroke, sum) VALUES (1, 0, '');
