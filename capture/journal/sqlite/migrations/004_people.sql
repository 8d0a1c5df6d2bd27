-- Lists who said notes, and when last, without reading them.
CREATE INDEX people ON entries (person) WHERE kind = 'note';
