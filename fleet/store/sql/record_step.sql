INSERT INTO schema_steps VALUES ($step, $name)
