-- Rows of one kind that came after import number $last, and what tells whether those before are as
-- they were. __KIND__ is replaced by a table name that has been found in fleet.frames.KINDS.
-- `before`: of all rows up to that import, how many and their hashes together, which any other rows
-- would change. `now`: the same of all rows. `withdrawn`: the same of everything ever taken back.
-- One row at least: a first one without a record.
WITH numbered AS (
    SELECT
        record,
        supersedes,
        entered_on,
        import_id,
        CAST(substr(import_id, 3) AS BIGINT) AS number,
        hash(record, content, supersedes, entered_on) AS print
    FROM __KIND__
),

facts AS (
    SELECT
        concat(
            count(*) FILTER (WHERE number <= $last), ' ',
            bit_xor(print) FILTER (WHERE number <= $last)
        ) AS before,
        concat(count(*), ' ', bit_xor(print)) AS now,
        (
            SELECT concat(count(*), ' ', bit_xor(hash(record, withdraws))) FROM withdrawn
        ) AS withdrawn
    FROM numbered
)

SELECT
    facts.before,
    facts.now,
    facts.withdrawn,
    came.record,
    came.supersedes,
    came.entered_on,
    came.import_id
FROM facts
LEFT JOIN (SELECT * FROM numbered WHERE number > $last) AS came ON TRUE
