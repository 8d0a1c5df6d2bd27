-- What was decided of findings that are out of limits.
ALTER TABLE entries ADD COLUMN disposition TEXT NOT NULL DEFAULT ''; -- JSON: which finding, what and why; in its own entry alone, else ''
