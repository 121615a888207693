-- One picture, unless the store holds it already.
INSERT INTO images
SELECT $image AS image, $bytes AS bytes, $import_id AS import_id
WHERE NOT EXISTS (SELECT 1 FROM images AS held WHERE held.image = $image)
