-- Deciding and doing: what else could be had, steps kept for the bench, what became of a recap.

ALTER TABLE positions ADD COLUMN headroom_mm DOUBLE;
ALTER TABLE reports ADD COLUMN cured BOOLEAN;
ALTER TABLE offers ADD COLUMN date_code VARCHAR;
ALTER TABLE offers ADD COLUMN lead_days DOUBLE;
ALTER TABLE shop ADD COLUMN currency VARCHAR;
ALTER TABLE shop ADD COLUMN setup_hours DOUBLE;

CREATE TABLE prices (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    model VARCHAR,
    item VARCHAR,
    price DOUBLE,
    currency VARCHAR,
    parts_age_years DOUBLE,
    priced_on VARCHAR,
    priced_on_earliest DATE,
    priced_on_latest DATE,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE steps (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    model VARCHAR,
    unit VARCHAR,
    moment VARCHAR,
    "position" VARCHAR,
    place BIGINT,
    "text" VARCHAR,
    cause VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE OR REPLACE VIEW record_keys AS
SELECT
    *,
    CASE WHEN contains(record, '~') THEN regexp_replace(record, '~[0-9]+$', '') ELSE record END
        AS root,
    CASE
        WHEN contains(supersedes, '~') THEN regexp_replace(supersedes, '~[0-9]+$', '')
        ELSE supersedes
    END AS supersedes_root
FROM (
    SELECT 'sources' AS kind, record, content AS content, supersedes, import_id FROM sources
    UNION ALL
    SELECT 'models' AS kind, record, content AS content, supersedes, import_id FROM models
    UNION ALL
    SELECT 'positions' AS kind, record, content AS content, supersedes, import_id FROM positions
    UNION ALL
    SELECT 'batches' AS kind, record, content AS content, supersedes, import_id FROM batches
    UNION ALL
    SELECT 'units' AS kind, record, content AS content, supersedes, import_id FROM units
    UNION ALL
    SELECT 'reports' AS kind, record, content AS content, supersedes, import_id FROM reports
    UNION ALL
    SELECT 'readings' AS kind, record, content AS content, supersedes, import_id FROM readings
    UNION ALL
    SELECT 'offers' AS kind, record, content AS content, supersedes, import_id FROM offers
    UNION ALL
    SELECT 'stock' AS kind, record, content AS content, supersedes, import_id FROM stock
    UNION ALL
    SELECT 'shop' AS kind, record, content AS content, supersedes, import_id FROM shop
    UNION ALL
    SELECT 'prices' AS kind, record, content AS content, supersedes, import_id FROM prices
    UNION ALL
    SELECT 'steps' AS kind, record, content AS content, supersedes, import_id FROM steps
    UNION ALL
    SELECT 'withdrawn' AS kind, record, withdrawn."kind" || ' ' || withdraws AS content, supersedes, import_id FROM withdrawn
);
