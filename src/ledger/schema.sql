-- SPDX-License-Identifier: GPL-3.0-or-later
--
-- The ledger of Lodecard, version 4 (kept in PRAGMA user_version; PRAGMA application_id tells a
-- ledger from other databases). The program makes a new ledger from this file; older ones are
-- brought up to it by migrate-2.sql and so on.
--
-- Rules
--   * Plain SQL: whole numbers, doubles, texts, bytes; keys, references, unique and check
--     constraints, so that it can move to another SQL server. The exceptions: the triggers, and the
--     type names, which SQLite takes as hints.
--   * Every table has a key "id", given in the order of arrival and never given again; but for
--     heat_sum, which only repeats what follows from the loops.
--   * An empty name means "not told", so that joins need no outer rows.
--   * Units stand in the names, as everywhere in Lodecard; documents are JSON on one line.
--   * Facts and what was computed from them stand apart: captures, rigs, specimens, remarks are
--     facts; the loops follow from them and can be computed again ("lodecard ledger recompute").
--     Nothing that was computed is changed: a loop that was computed anew is a new row, and the old
--     one stays with is_current = 0.
--   * No times but those that people gave: change_set.day.
--   * Every row that is added, changed or removed leaves a line in the journal, in the same
--     transaction.

-- What one call of the program did. All lines of the journal belong to one.
CREATE TABLE change_set (
    id INTEGER PRIMARY KEY,
    command TEXT NOT NULL,              -- such as "add"
    day TEXT NOT NULL,                  -- as given by --date, "2026-11-25"; "": not told
    person TEXT NOT NULL,               -- as given by --by; "": not told
    program TEXT NOT NULL,              -- version of the program
    undoes INTEGER REFERENCES change_set (id)  -- the change that this one took back
);

CREATE TABLE supplier (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
);

CREATE TABLE alloy (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
);

CREATE TABLE heat (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    supplier_id INTEGER NOT NULL REFERENCES supplier (id),
    alloy_id INTEGER NOT NULL REFERENCES alloy (id),
    UNIQUE (name, supplier_id, alloy_id)
);
CREATE INDEX heat_of_supplier ON heat (supplier_id);
CREATE INDEX heat_of_alloy ON heat (alloy_id);

-- One ring. What is known of it (dimensions, density, condition) stands in its versions.
CREATE TABLE specimen (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    heat_id INTEGER NOT NULL REFERENCES heat (id),
    UNIQUE (heat_id, name)
);

CREATE TABLE specimen_version (
    id INTEGER PRIMARY KEY,
    specimen_id INTEGER NOT NULL REFERENCES specimen (id),
    sha256 TEXT NOT NULL,               -- of document
    document TEXT NOT NULL,             -- "specimen" of a result, in SI
    source TEXT,                        -- specimen.yaml as it was; NULL: not at hand
    UNIQUE (specimen_id, sha256)
);

-- One bench. Its values stand in its versions: a calibration makes a new one.
CREATE TABLE rig (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
);

CREATE TABLE rig_version (
    id INTEGER PRIMARY KEY,
    rig_id INTEGER NOT NULL REFERENCES rig (id),
    sha256 TEXT NOT NULL,               -- of document
    document TEXT NOT NULL,             -- "rig" of a result, in SI
    source TEXT,                        -- rig.yaml as it was; NULL: not at hand
    calibration_day TEXT NOT NULL,      -- "": not told
    UNIQUE (rig_id, sha256)
);

-- One recording, known by the hash of its bytes.
CREATE TABLE capture (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,
    file TEXT NOT NULL,                 -- its own name
    path TEXT,                          -- where it lay, seen from the ledger's folder; NULL: not told
    channels INTEGER,
    frames INTEGER,
    sample_rate_Hz REAL                 -- NULL: uneven, or a trace
);

-- The recording itself, where that was asked for.
CREATE TABLE capture_bytes (
    id INTEGER PRIMARY KEY REFERENCES capture (id),
    bytes BLOB NOT NULL
);

-- One loop that was computed from a capture. heat_id repeats what specimen_id tells, for the
-- indexes; "ledger check" compares them.
CREATE TABLE loop (
    id INTEGER PRIMARY KEY,
    is_current INTEGER NOT NULL CHECK (is_current IN (0, 1)),
    capture_id INTEGER NOT NULL REFERENCES capture (id),
    specimen_id INTEGER NOT NULL REFERENCES specimen (id),
    heat_id INTEGER NOT NULL REFERENCES heat (id),
    specimen_version_id INTEGER NOT NULL REFERENCES specimen_version (id),
    rig_version_id INTEGER NOT NULL REFERENCES rig_version (id),
    program TEXT NOT NULL,              -- version of the program that computed it
    start_s REAL,                       -- the part of the capture; NULL: a trace
    length_s REAL,
    settings TEXT,                      -- options it was computed with; NULL: not told
    note_codes TEXT NOT NULL,           -- parted by blanks
    notes TEXT NOT NULL,                -- "notes" of the result
    -- FIGURES: here the program puts two columns for each entry of its table of figures
    -- (src/quantity/figure.c): the key and u_key, REAL; NULL: the loop has none. A figure that is
    -- new adds its two columns to a ledger when it is opened.
    CHECK (id > 0)
);
CREATE INDEX loop_of_capture ON loop (capture_id);
CREATE INDEX loop_of_specimen ON loop (specimen_id);
-- Holds what heats are judged by, so that their statistics need not read the loops themselves.
CREATE INDEX loop_of_heat ON loop (is_current, heat_id, coercivity_A_per_m, remanence_T,
    loop_area_J_per_m3);
CREATE INDEX loop_by_coercivity ON loop (is_current, coercivity_A_per_m);

-- Sums over the current loops of a heat, so that statistics of all heats need not read all loops.
-- They follow from the loops: the triggers take away those of a heat whose loops change, whoever
-- changes them; the program puts them there again. They are not in the journal.
CREATE TABLE heat_sum (
    heat_id INTEGER NOT NULL,
    figure TEXT NOT NULL,               -- its key; "": count is that of the loops, and all is there
    count INTEGER NOT NULL,             -- loops that have the figure
    mean REAL NOT NULL,
    squares REAL NOT NULL,              -- sum of squares about the mean
    least REAL NOT NULL,
    most REAL NOT NULL,
    PRIMARY KEY (heat_id, figure)
);
CREATE TRIGGER heat_sum_of_new BEFORE INSERT ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = NEW.heat_id;
END;
CREATE TRIGGER heat_sum_of_changed BEFORE UPDATE ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = OLD.heat_id OR heat_id = NEW.heat_id;
END;
CREATE TRIGGER heat_sum_of_removed BEFORE DELETE ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = OLD.heat_id;
END;

-- One mean cycle, where the result had it.
CREATE TABLE loop_points (
    id INTEGER PRIMARY KEY REFERENCES loop (id),
    document TEXT NOT NULL              -- "points" of the result
);

-- Series, cards and verdicts: documents of the program as they were made, JSON on one line, known
-- by their hash. heat_id: where all their loops are of one heat.
CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,        -- of document
    name TEXT NOT NULL,
    heat_id INTEGER REFERENCES heat (id),
    document TEXT NOT NULL
);
CREATE TABLE card (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    heat_id INTEGER REFERENCES heat (id),
    document TEXT NOT NULL
);
CREATE TABLE verdict (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,                 -- of the limits
    heat_id INTEGER REFERENCES heat (id),
    document TEXT NOT NULL,
    word TEXT NOT NULL,                 -- accepted, rejected, undecided
    limits TEXT,                        -- limits.yaml as it was; NULL: not at hand
    day TEXT NOT NULL,                  -- "": not told
    person TEXT NOT NULL
);

-- The loops that a series, card or verdict was made from.
CREATE TABLE made_from (
    id INTEGER PRIMARY KEY,
    subject TEXT NOT NULL CHECK (subject IN ('series', 'card', 'verdict')),
    subject_id INTEGER NOT NULL,
    loop_id INTEGER NOT NULL REFERENCES loop (id),
    UNIQUE (subject, subject_id, loop_id)
);
CREATE INDEX made_from_loop ON made_from (loop_id);

-- Words of people on any row.
CREATE TABLE remark (
    id INTEGER PRIMARY KEY,
    subject TEXT NOT NULL,              -- name of a table
    subject_id INTEGER NOT NULL,
    words TEXT NOT NULL,
    day TEXT NOT NULL,
    person TEXT NOT NULL
);
CREATE INDEX remark_on ON remark (subject, subject_id);

CREATE TABLE tag (
    id INTEGER PRIMARY KEY,
    subject TEXT NOT NULL,              -- name of a table
    subject_id INTEGER NOT NULL,
    word TEXT NOT NULL,
    UNIQUE (subject, subject_id, word)
);
CREATE INDEX tag_by_word ON tag (word, subject);

-- Every row's story, in the order of its events. digest is the SHA-256 of the row as it was then
-- (src/ledger/row.c); chain is the SHA-256 of this line and the chain of the line before, so that
-- nothing can be changed, put in between or taken out without all later lines giving it away.
CREATE TABLE journal (
    id INTEGER PRIMARY KEY,             -- 1, 2, 3 ... without gaps
    change_id INTEGER NOT NULL REFERENCES change_set (id),
    kind TEXT NOT NULL CHECK (kind IN ('add', 'change', 'remove')),
    subject TEXT NOT NULL,              -- name of a table
    subject_id INTEGER NOT NULL,
    digest TEXT NOT NULL,               -- of the row; "": it was removed
    before_row TEXT,                    -- the row before, JSON; NULL: there was none
    chain TEXT NOT NULL
);
CREATE INDEX journal_of ON journal (subject, subject_id);
CREATE INDEX journal_by_change ON journal (change_id);

-- The journal only grows.
CREATE TRIGGER journal_keeps_lines BEFORE UPDATE ON journal
BEGIN
    SELECT RAISE(ABORT, 'the journal only grows');
END;
CREATE TRIGGER journal_keeps_all BEFORE DELETE ON journal
BEGIN
    SELECT RAISE(ABORT, 'the journal only grows');
END;
