-- Pictures that a photo of the import $import_id shows and the store does not hold.
SELECT DISTINCT photos.image
FROM photos
ANTI JOIN images ON images.image = photos.image
WHERE photos.import_id = $import_id AND photos.image IS NOT NULL
ORDER BY photos.image
