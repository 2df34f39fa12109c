CREATE TABLE landmarks (
    landmark VARCHAR NOT NULL,
    kind VARCHAR,
    name VARCHAR,
    geometry GEOMETRY NOT NULL
)
