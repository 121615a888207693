-- Who did what: a row for each import and kind of record in it, and for each act; of one unit where
-- $unit is not null. What was taken back is about the unit of the record taken back.
WITH about AS (
    SELECT 'units' AS kind, record, unit FROM units
    UNION ALL
    SELECT 'reports' AS kind, record, unit FROM reports
    UNION ALL
    SELECT 'readings' AS kind, record, unit FROM readings
    UNION ALL
    SELECT 'photos' AS kind, record, unit FROM photos
    UNION ALL
    SELECT 'steps' AS kind, record, unit FROM steps
),

told AS (
    SELECT
        keys.import_id,
        coalesce(gone."kind", keys.kind) AS kind,
        gone.withdraws IS NOT NULL AS taken_back,
        coalesce(gone.withdraws, keys.record) AS record,
        keys.supersedes,
        about.unit
    FROM record_keys AS keys
    LEFT JOIN withdrawn AS gone ON keys.kind = 'withdrawn' AND gone.record = keys.record
    LEFT JOIN about
        ON about.kind = coalesce(gone."kind", keys.kind)
        AND about.record = coalesce(gone.withdraws, keys.record)
)

SELECT
    imports.import_id,
    imports.moment,
    imports.today,
    imports."by",
    imports.through,
    imports.what,
    told.kind,
    CASE WHEN count(*) = count(told.unit) AND min(told.unit) = max(told.unit) THEN min(told.unit) END
        AS unit,
    count(told.record) AS records,
    count(told.supersedes) AS corrections,
    CASE WHEN count(told.record) = 1 THEN min(told.record) END AS record
FROM imports
LEFT JOIN told ON told.import_id = imports.import_id
WHERE $unit IS NULL OR told.unit = $unit
GROUP BY ALL
UNION ALL
SELECT
    NULL AS import_id,
    moment,
    today,
    "by",
    through,
    what,
    NULL AS kind,
    NULL AS unit,
    0 AS records,
    0 AS corrections,
    NULL AS record
FROM acts
WHERE $unit IS NULL
ORDER BY today, moment NULLS FIRST, length(import_id), import_id, kind
