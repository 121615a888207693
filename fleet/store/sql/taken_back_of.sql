-- How many of the registered frame `came` are named by a withdrawal.
SELECT count(*) AS held FROM withdrawn WHERE withdraws IN (SELECT record FROM came)
