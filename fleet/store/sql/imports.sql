-- Every import, oldest first, with how many of its records have been taken back since.
SELECT imports.*, coalesce(gone.taken_back, 0) AS taken_back
FROM imports
LEFT JOIN (
    SELECT held.import_id, count(*) AS taken_back
    FROM withdrawn AS taken
    INNER JOIN record_keys AS held ON held.record = taken.withdraws
    GROUP BY held.import_id
) AS gone ON gone.import_id = imports.import_id
ORDER BY length(imports.import_id), imports.import_id
