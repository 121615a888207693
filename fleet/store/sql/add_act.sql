INSERT INTO acts BY NAME
SELECT
    CAST($moment AS TIMESTAMP) AS moment,
    CAST($today AS DATE) AS today,
    $by AS "by",
    $through AS through,
    $what AS what
