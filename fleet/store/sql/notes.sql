SELECT key, value FROM notes
