-- A hash of each record to be taken back, of the registered frame `targets`, in its order.
SELECT kind, record, sha256(kind || ' ' || record) AS content FROM targets ORDER BY place
