SELECT bytes FROM images WHERE image = $image
