CREATE TABLE fields (
    field VARCHAR NOT NULL,
    name VARCHAR,
    grower VARCHAR,
    source VARCHAR,
    soil VARCHAR,
    irrigated_ha DOUBLE,
    geometry GEOMETRY NOT NULL
)
