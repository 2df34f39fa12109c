-- One row a published generation of results. `imports` is the newest import it has seen.
CREATE TABLE assessments (
    generation BIGINT NOT NULL,
    as_of DATE NOT NULL,
    made_at TIMESTAMPTZ NOT NULL,
    version VARCHAR NOT NULL,
    settings JSON NOT NULL
)
