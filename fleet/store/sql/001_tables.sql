-- First schema step. Never edited after release: a change is a new numbered step.
-- One table per record kind, its columns as fleet.frames.clean_schema says, plus import_id.
-- No key is declared: an id is checked when it arrives, inside the transaction that holds the
-- file's lock, and an index over a million texts would cost more than every read.

CREATE TABLE schema_steps (step INTEGER NOT NULL, name VARCHAR NOT NULL);

-- One row. `token` is new with every write, so that a copy that went its own way differs too.
CREATE TABLE store (
    program VARCHAR NOT NULL,
    writes BIGINT NOT NULL,
    token VARCHAR NOT NULL,
    last_import BIGINT NOT NULL
);
INSERT INTO store VALUES ('fleet store', 0, CAST(uuid() AS VARCHAR), 0);

CREATE TABLE notes (key VARCHAR NOT NULL, value VARCHAR NOT NULL);

CREATE TABLE imports (
    import_id VARCHAR NOT NULL,
    moment TIMESTAMP,
    today DATE NOT NULL,
    "by" VARCHAR,
    what VARCHAR NOT NULL,
    "rows" BIGINT NOT NULL,
    kept BIGINT NOT NULL,
    already_known BIGINT NOT NULL,
    rejected BIGINT NOT NULL
);

CREATE TABLE rejects (
    import_id VARCHAR NOT NULL,
    file VARCHAR,
    kind VARCHAR,
    line BIGINT,
    reason VARCHAR,
    "row" VARCHAR
);

CREATE TABLE sources (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    collecting_since VARCHAR,
    collecting_since_earliest DATE,
    collecting_since_latest DATE,
    data_cutoff VARCHAR,
    data_cutoff_earliest DATE,
    data_cutoff_latest DATE,
    keeps_roll_call BOOLEAN,
    hemisphere VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE models (
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
    revision VARCHAR,
    "kind" VARCHAR,
    aliases VARCHAR,
    first_made VARCHAR,
    first_made_earliest DATE,
    first_made_latest DATE,
    last_made VARCHAR,
    last_made_earliest DATE,
    last_made_latest DATE,
    planned_cost DOUBLE,
    failure_cost DOUBLE,
    currency VARCHAR,
    bench_hours DOUBLE,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE positions (
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
    "position" VARCHAR,
    capacitance VARCHAR,
    tolerance VARCHAR,
    voltage DOUBLE,
    temperature DOUBLE,
    diameter_mm DOUBLE,
    length_mm DOUBLE,
    lead_form VARCHAR,
    lead_spacing_mm DOUBLE,
    clearance_mm DOUBLE,
    ground_referenced BOOLEAN,
    polarity_note VARCHAR,
    technology VARCHAR,
    safety_class VARCHAR,
    ripple_ma DOUBLE,
    esr_ohm DOUBLE,
    rated_hours DOUBLE,
    role VARCHAR,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE batches (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    batch VARCHAR,
    series VARCHAR,
    date_code VARCHAR,
    made VARCHAR,
    made_earliest DATE,
    made_latest DATE,
    technology VARCHAR,
    sleeve_colour VARCHAR,
    voltage DOUBLE,
    temperature DOUBLE,
    rated_hours DOUBLE,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE units (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    unit VARCHAR,
    model VARCHAR,
    batch VARCHAR,
    serial VARCHAR,
    manufactured VARCHAR,
    manufactured_earliest DATE,
    manufactured_latest DATE,
    enrolled_on VARCHAR,
    enrolled_on_earliest DATE,
    enrolled_on_latest DATE,
    enrolled_because VARCHAR,
    site VARCHAR,
    hours_per_year DOUBLE,
    ambient_c DOUBLE,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE reports (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    unit VARCHAR,
    "date" VARCHAR,
    date_earliest DATE,
    date_latest DATE,
    "kind" VARCHAR,
    last_known_working VARCHAR,
    last_known_working_earliest DATE,
    last_known_working_latest DATE,
    cause VARCHAR,
    positions VARCHAR,
    batch VARCHAR,
    because VARCHAR,
    symptom VARCHAR,
    found_dead BOOLEAN,
    notes VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE readings (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    unit VARCHAR,
    "date" VARCHAR,
    date_earliest DATE,
    date_latest DATE,
    "position" VARCHAR,
    stage VARCHAR,
    volts_positive DOUBLE,
    volts_negative DOUBLE,
    esr_ohm DOUBLE,
    capacitance VARCHAR,
    limit_used VARCHAR,
    in_circuit BOOLEAN,
    instrument VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE offers (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    part VARCHAR,
    series VARCHAR,
    capacitance VARCHAR,
    tolerance VARCHAR,
    voltage DOUBLE,
    temperature DOUBLE,
    diameter_mm DOUBLE,
    length_mm DOUBLE,
    lead_form VARCHAR,
    lead_spacing_mm DOUBLE,
    clearance_mm DOUBLE,
    ground_referenced BOOLEAN,
    polarity_note VARCHAR,
    technology VARCHAR,
    safety_class VARCHAR,
    ripple_ma DOUBLE,
    esr_ohm DOUBLE,
    rated_hours DOUBLE,
    supplier VARCHAR,
    price DOUBLE,
    currency VARCHAR,
    price_from_quantity BIGINT,
    shipping DOUBLE,
    import_id VARCHAR NOT NULL
);

CREATE TABLE stock (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    part VARCHAR,
    quantity BIGINT,
    date_code VARCHAR,
    import_id VARCHAR NOT NULL
);

CREATE TABLE shop (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    labour_rate DOUBLE,
    bench_hours_per_month DOUBLE,
    budget DOUBLE,
    import_id VARCHAR NOT NULL
);

CREATE TABLE withdrawn (
    file VARCHAR,
    line BIGINT,
    record VARCHAR NOT NULL,
    entered_on DATE,
    reconstructed BOOLEAN,
    supersedes VARCHAR,
    source VARCHAR,
    "by" VARCHAR,
    content VARCHAR NOT NULL,
    "kind" VARCHAR,
    withdraws VARCHAR,
    import_id VARCHAR NOT NULL
);

-- Every record of every kind under its id. A record taken back and entered again has the id of
-- the first entry with ~2, ~3, ... behind it: `root` is the id without that. What a withdrawal
-- says is its target, whatever its other columns hold.
CREATE VIEW record_keys AS
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
    SELECT 'withdrawn' AS kind, record, withdrawn."kind" || ' ' || withdraws AS content, supersedes, import_id FROM withdrawn
);
