SELECT writes, token FROM store
