-- Every write changes this one row, so that two writers in one process cannot both commit.
UPDATE store SET writes = writes + 1, token = CAST(uuid() AS VARCHAR)
