-- Every row of one kind ever entered of the unit $unit, with who corrects it now and what took it
-- back, and when that was entered. __KIND__ is replaced by a table name that has been found in
-- fleet.frames.KINDS and has a column unit.
WITH correction AS (
    SELECT
        regexp_replace(made.supersedes, '~[0-9]+$', '') AS root,
        min(made.record) AS record,
        arg_min(made.entered_on, made.record) AS entered_on
    FROM __KIND__ AS made
    WHERE
        made.supersedes IS NOT NULL
        AND made.record NOT IN (SELECT withdraws FROM withdrawn)
    GROUP BY ALL
)

SELECT
    held.*,
    correction.record AS superseded_by,
    correction.entered_on AS superseded_on,
    taken.record AS withdrawn_by,
    taken.entered_on AS withdrawn_on,
    taken.by AS taken_back_by
FROM __KIND__ AS held
LEFT JOIN correction ON correction.root = regexp_replace(held.record, '~[0-9]+$', '')
LEFT JOIN withdrawn AS taken ON taken.withdraws = held.record
WHERE held.unit = $unit
