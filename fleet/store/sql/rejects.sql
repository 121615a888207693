-- Refused rows of one import, or of all where $import_id is null, in the order they came.
SELECT file, kind, line, reason, "row", import_id
FROM rejects
WHERE $import_id IS NULL OR import_id = $import_id
ORDER BY length(import_id), import_id, rowid
