-- Rows that people took out of their tables, as they stood.
CREATE TABLE removed (
    made_at TIMESTAMPTZ NOT NULL,
    taken_from VARCHAR NOT NULL,
    told JSON NOT NULL
)
