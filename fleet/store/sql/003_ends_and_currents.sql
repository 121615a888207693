-- Which end of a place is tied to ground, and whether a rated voltage is of direct or alternating
-- current.

ALTER TABLE positions ADD COLUMN grounded_end VARCHAR;
ALTER TABLE positions ADD COLUMN "current" VARCHAR;
ALTER TABLE offers ADD COLUMN "current" VARCHAR;
