UPDATE store SET last_import = last_import + 1 RETURNING last_import
