-- What the store holds of the records that arriving rows name: whole families of one id and
-- whoever corrects them. `names` is a registered frame of ids without their ~2, ~3, ...
-- The three parts have no row in common; the first compares ids as stored, which is quick.
WITH found AS (
    SELECT * FROM record_keys
    WHERE NOT contains(record, '~') AND record IN (SELECT name FROM names)
    UNION ALL
    SELECT * FROM record_keys
    WHERE contains(record, '~') AND root IN (SELECT name FROM names)
    UNION ALL
    SELECT * FROM record_keys
    WHERE
        supersedes IS NOT NULL
        AND supersedes_root IN (SELECT name FROM names)
        AND root NOT IN (SELECT name FROM names)
)

SELECT
    found.kind,
    found.record,
    found.content,
    found.supersedes,
    taken.record AS withdrawn_by
FROM found
LEFT JOIN withdrawn AS taken ON taken.withdraws = found.record
