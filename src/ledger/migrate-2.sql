-- SPDX-License-Identifier: GPL-3.0-or-later
--
-- From version 1 to 2: series, cards and verdicts, as schema.sql has them.

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

CREATE TABLE made_from (
    id INTEGER PRIMARY KEY,
    subject TEXT NOT NULL CHECK (subject IN ('series', 'card', 'verdict')),
    subject_id INTEGER NOT NULL,
    loop_id INTEGER NOT NULL REFERENCES loop (id),
    UNIQUE (subject, subject_id, loop_id)
);
CREATE INDEX made_from_loop ON made_from (loop_id);
