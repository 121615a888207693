-- Rows of one kind from the registered frame `arriving`. __KIND__ is replaced by a table name
-- that has been found in fleet.frames.KINDS: a table name cannot be a bound value.
INSERT INTO __KIND__ BY NAME SELECT * FROM arriving
