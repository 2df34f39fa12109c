CREATE TABLE mappings (
    signature VARCHAR NOT NULL,
    name VARCHAR NOT NULL,
    mapping JSON NOT NULL,
    saved_at TIMESTAMPTZ NOT NULL
)
