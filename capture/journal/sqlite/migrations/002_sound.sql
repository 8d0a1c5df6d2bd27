-- What was heard of a spoken note.
ALTER TABLE entries ADD COLUMN sound TEXT NOT NULL DEFAULT ''; -- SHA-256 of its sound as it is kept, or '' for what was typed
ALTER TABLE entries ADD COLUMN heard TEXT NOT NULL DEFAULT ''; -- JSON: how it was heard, or '' for what was typed
