-- What the store holds of the records that arriving rows name: whole families of one id and
-- whoever corrects them. `names` is a registered frame of ids without their ~2, ~3, ...
SELECT
    held.kind,
    held.record,
    held.content,
    held.supersedes,
    held.root,
    held.supersedes_root,
    taken.record AS withdrawn_by
FROM record_keys AS held
LEFT JOIN withdrawn AS taken ON taken.withdraws = held.record
WHERE
    held.root IN (SELECT name FROM names)
    OR held.supersedes_root IN (SELECT name FROM names)
