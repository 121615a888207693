SELECT writes, token, last_import FROM store
