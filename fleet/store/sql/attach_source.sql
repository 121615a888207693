ATTACH $path AS source (READ_ONLY)
