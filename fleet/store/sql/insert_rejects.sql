INSERT INTO rejects BY NAME
SELECT $import_id AS import_id, file, kind, line, reason, "row" FROM refused_anew
