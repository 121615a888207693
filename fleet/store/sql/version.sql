SELECT store.program, (SELECT max(step) FROM schema_steps) AS step FROM store
