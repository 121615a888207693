-- Refused rows of the registered frame `refused` that have not been refused before for the same
-- reason, in the order they came.
SELECT refused.file, refused.kind, refused.line, refused.reason, refused."row"
FROM refused
WHERE NOT EXISTS (
    SELECT 1
    FROM rejects AS old
    WHERE
        coalesce(old.kind, '') = coalesce(refused.kind, '')
        AND coalesce(old."row", '') = coalesce(refused."row", '')
        AND coalesce(old.reason, '') = coalesce(refused.reason, '')
)
ORDER BY refused.place
