-- The last day on which anything was entered or taken back; null in an empty store.
SELECT max(today) AS day FROM imports
