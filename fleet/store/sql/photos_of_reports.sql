-- The standing photos of the reports in the registered frame `targets` that are not in it.
SELECT 'photos' AS kind, photos.record, photos.supersedes
FROM photos
WHERE
    photos.report IN (SELECT record FROM targets WHERE kind = 'reports')
    AND photos.record NOT IN (SELECT record FROM targets)
    AND photos.record NOT IN (SELECT withdraws FROM withdrawn)
ORDER BY photos.record
