-- The records one import brought, what took each back, and what its withdrawals take back.
SELECT held.kind, held.record, held.supersedes, taken.record AS withdrawn_by, own.withdraws
FROM record_keys AS held
LEFT JOIN withdrawn AS taken ON taken.withdraws = held.record
LEFT JOIN withdrawn AS own ON held.kind = 'withdrawn' AND own.record = held.record
WHERE held.import_id = $import_id
