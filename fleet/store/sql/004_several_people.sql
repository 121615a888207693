-- What several people need: an owner's private notes, photos of a machine, and who did what by
-- which way in.

ALTER TABLE units ADD COLUMN private_notes VARCHAR;

-- `through`: the page or command by which it was done; null in what was written before.
ALTER TABLE imports ADD COLUMN through VARCHAR;

-- What was done to the store as a whole and brought no records: backed up, restored, exported.
CREATE TABLE acts (
    moment TIMESTAMP,
    today DATE NOT NULL,
    "by" VARCHAR,
    through VARCHAR,
    what VARCHAR NOT NULL
);

CREATE TABLE photos (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    report VARCHAR,
    unit VARCHAR,
    image VARCHAR,
    width BIGINT,
    height BIGINT,
    file_name VARCHAR,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

-- Each picture once, however many photos show it. Never deleted: taking a photo back is a row in
-- `withdrawn`, as for every record.
CREATE TABLE images (image VARCHAR NOT NULL, bytes BLOB NOT NULL, import_id VARCHAR NOT NULL);

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
    SELECT 'photos' AS kind, record, content AS content, supersedes, import_id FROM photos
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
