CREATE TABLE rejects (
    import BIGINT NOT NULL,
    line BIGINT,
    "column" VARCHAR,
    "value" VARCHAR,
    reason VARCHAR NOT NULL
)
