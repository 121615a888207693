-- Rows of every table: what a copy is proved by.
SELECT 'sources' AS kind, count(*) AS "rows" FROM sources
UNION ALL
SELECT 'models' AS kind, count(*) AS "rows" FROM models
UNION ALL
SELECT 'positions' AS kind, count(*) AS "rows" FROM positions
UNION ALL
SELECT 'batches' AS kind, count(*) AS "rows" FROM batches
UNION ALL
SELECT 'units' AS kind, count(*) AS "rows" FROM units
UNION ALL
SELECT 'reports' AS kind, count(*) AS "rows" FROM reports
UNION ALL
SELECT 'readings' AS kind, count(*) AS "rows" FROM readings
UNION ALL
SELECT 'photos' AS kind, count(*) AS "rows" FROM photos
UNION ALL
SELECT 'offers' AS kind, count(*) AS "rows" FROM offers
UNION ALL
SELECT 'stock' AS kind, count(*) AS "rows" FROM stock
UNION ALL
SELECT 'shop' AS kind, count(*) AS "rows" FROM shop
UNION ALL
SELECT 'prices' AS kind, count(*) AS "rows" FROM prices
UNION ALL
SELECT 'steps' AS kind, count(*) AS "rows" FROM steps
UNION ALL
SELECT 'withdrawn' AS kind, count(*) AS "rows" FROM withdrawn
UNION ALL
SELECT 'images' AS kind, count(*) AS "rows" FROM images
UNION ALL
SELECT 'acts' AS kind, count(*) AS "rows" FROM acts
UNION ALL
SELECT 'imports' AS kind, count(*) AS "rows" FROM imports
UNION ALL
SELECT 'rejects' AS kind, count(*) AS "rows" FROM rejects
UNION ALL
SELECT 'notes' AS kind, count(*) AS "rows" FROM notes
UNION ALL
SELECT 'schema_steps' AS kind, count(*) AS "rows" FROM schema_steps
UNION ALL
SELECT 'store' AS kind, count(*) AS "rows" FROM store
