-- One row a file that was taken. `kind` is the table it fed, `mapping` how it was read.
CREATE TABLE imports (
    id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    mapping VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    made_at TIMESTAMPTZ NOT NULL,
    rows_in BIGINT NOT NULL,
    taken BIGINT NOT NULL,
    identical BIGINT NOT NULL,
    superseded BIGINT NOT NULL,
    rejected BIGINT NOT NULL,
    sites VARCHAR[] NOT NULL
)
