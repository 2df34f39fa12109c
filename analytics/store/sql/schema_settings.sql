CREATE TABLE settings (
    name VARCHAR NOT NULL,
    "value" VARCHAR NOT NULL
)
