-- The record of that id and the first few whose id starts so; the exact one first.
SELECT kind, record
FROM record_keys
WHERE starts_with(record, $start)
ORDER BY record = $start DESC, record
LIMIT 6
