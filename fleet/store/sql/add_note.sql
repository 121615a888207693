INSERT INTO notes VALUES ($key, $value)
