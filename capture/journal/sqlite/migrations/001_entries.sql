CREATE TABLE entries (
    position  INTEGER PRIMARY KEY,         -- for followers; means nothing else
    job       TEXT    NOT NULL,
    seq       INTEGER NOT NULL,            -- counts the job's entries from 1
    id        TEXT    NOT NULL,            -- the client's ULID
    kind      TEXT    NOT NULL,
    at        INTEGER NOT NULL,            -- microseconds since 1970, UTC: the server's clock
    client_at INTEGER NOT NULL,            -- the same of the client's clock; 0 if it gave none
    person    TEXT    NOT NULL,
    bench     TEXT    NOT NULL,
    text      TEXT    NOT NULL,            -- as said
    utterance TEXT    NOT NULL,            -- JSON, or '' for none
    answer    TEXT    NOT NULL,            -- JSON byte for byte as sent, or '' for none
    caution   TEXT    NOT NULL,            -- the warning shown with the answer, or '' for none
    spec_hash TEXT    NOT NULL,
    program   TEXT    NOT NULL,
    spec      TEXT    NOT NULL DEFAULT '', -- this and the rest in a job's opening alone
    spec_text TEXT    NOT NULL DEFAULT '',
    shop_text TEXT    NOT NULL DEFAULT '', -- the register of instruments
    options   TEXT    NOT NULL DEFAULT '', -- JSON object of text, or '' for none
    UNIQUE (job, seq),
    UNIQUE (id)
) STRICT;

-- Lists the jobs without reading their notes.
CREATE INDEX openings ON entries (position) WHERE seq = 1;

-- Entries are never edited, whoever opens the file.
CREATE TRIGGER never_edited BEFORE UPDATE ON entries
BEGIN SELECT raise(ABORT, 'entries are never edited'); END;

CREATE TRIGGER never_removed BEFORE DELETE ON entries
BEGIN SELECT raise(ABORT, 'entries are never removed'); END;
