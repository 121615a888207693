INSERT INTO imports BY NAME
SELECT
    $import_id AS import_id,
    CAST($moment AS TIMESTAMP) AS moment,
    CAST($today AS DATE) AS today,
    $by AS "by",
    $through AS through,
    $what AS what,
    $rows AS "rows",
    $kept AS kept,
    $already_known AS already_known,
    $rejected AS rejected
