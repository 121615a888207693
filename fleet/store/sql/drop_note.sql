DELETE FROM notes WHERE key = $key
