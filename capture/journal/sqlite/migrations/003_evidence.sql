-- Photos that belong to notes, and sounds that are removed.
ALTER TABLE entries ADD COLUMN photo  TEXT    NOT NULL DEFAULT ''; -- SHA-256 of a photo as it is kept; in its own entry alone
ALTER TABLE entries ADD COLUMN of_seq INTEGER NOT NULL DEFAULT 0;  -- seq of the note that the photo belongs to
ALTER TABLE entries ADD COLUMN purge  TEXT    NOT NULL DEFAULT ''; -- JSON: which sounds and photos are gone and by which rule, or '' for none
