-- Rows of one kind as they stood on $as_of (null: as they stand now). __KIND__ is replaced by a
-- table name that has been found in fleet.frames.KINDS.
-- A row stands when it was entered by then, was not taken back by then, and no row that stands
-- likewise corrects it. Taking back a record whose day of entry is only a stand-in counts at
-- every date. Of a record taken back and entered again (~2, ~3, ...) the last entry counts.
-- `live` is not kept as a table of its own: what asks for few rows or columns reads only those.
WITH live AS NOT MATERIALIZED (
    SELECT
        entered.*,
        CASE WHEN contains(record, '~') THEN regexp_replace(record, '~[0-9]+$', '') ELSE record END
            AS root,
        CASE
            WHEN contains(record, '~')
                THEN coalesce(TRY_CAST(regexp_extract(record, '~([0-9]+)$', 1) AS BIGINT), 1)
            ELSE 1
        END AS generation
    FROM __KIND__ AS entered
    WHERE
        ($as_of IS NULL OR entered_on IS NULL OR entered_on <= CAST($as_of AS DATE))
        AND record NOT IN (
            SELECT withdraws FROM withdrawn
            WHERE $as_of IS NULL OR entered_on IS NULL OR entered_on <= CAST($as_of AS DATE)
        )
        AND NOT (coalesce(reconstructed, FALSE) AND record IN (SELECT withdraws FROM withdrawn))
),

corrected AS (
    SELECT DISTINCT regexp_replace(supersedes, '~[0-9]+$', '') AS root
    FROM live
    WHERE supersedes IS NOT NULL
),

again AS (
    SELECT root, max(generation) AS generation FROM live WHERE generation > 1 GROUP BY root
)

SELECT live.* EXCLUDE (file, line, root, generation)
FROM live
ANTI JOIN corrected ON live.root = corrected.root
ANTI JOIN again ON live.root = again.root AND live.generation < again.generation
