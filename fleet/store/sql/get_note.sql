SELECT value FROM notes WHERE key = $key
