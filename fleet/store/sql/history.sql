-- Every row of one kind ever entered (or the one with the id $record, where not null), with who
-- corrects it now and what took it back. __KIND__ is replaced by a table name that has been
-- found in fleet.frames.KINDS.
WITH correction AS (
    SELECT regexp_replace(made.supersedes, '~[0-9]+$', '') AS root, min(made.record) AS record
    FROM __KIND__ AS made
    WHERE
        made.supersedes IS NOT NULL
        AND made.record NOT IN (SELECT withdraws FROM withdrawn)
    GROUP BY ALL
)

SELECT held.*, correction.record AS superseded_by, taken.record AS withdrawn_by
FROM __KIND__ AS held
LEFT JOIN correction ON correction.root = regexp_replace(held.record, '~[0-9]+$', '')
LEFT JOIN withdrawn AS taken ON taken.withdraws = held.record
WHERE $record IS NULL OR held.record = $record
