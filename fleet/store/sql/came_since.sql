-- Rows of one kind that came after import number $last, and what tells whether those before are as
-- they were. __KIND__ is replaced by a table name that has been found in fleet.frames.KINDS.
-- `before`: of all rows up to that import, how many and their hashes together, which any other rows
-- would change. `withdrawn`: the same of everything ever taken back.
-- One row at least: a first one without a record.
WITH numbered AS (
    SELECT
        record,
        supersedes,
        entered_on,
        CAST(substr(import_id, 3) AS BIGINT) AS number,
        hash(record, content, supersedes, entered_on) AS print
    FROM __KIND__
),

facts AS (
    SELECT
        (
            SELECT concat(count(*), ' ', bit_xor(print)) FROM numbered WHERE number <= $last
        ) AS before,
        (
            SELECT concat(count(*), ' ', bit_xor(hash(record, withdraws))) FROM withdrawn
        ) AS withdrawn
)

SELECT facts.before, facts.withdrawn, came.record, came.supersedes, came.entered_on
FROM facts
LEFT JOIN (SELECT * FROM numbered WHERE number > $last) AS came ON TRUE
