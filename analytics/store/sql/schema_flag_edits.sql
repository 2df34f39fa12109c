-- What people say about flags, each kept for good. A blank depth means every sensor of the probe.
CREATE TABLE flag_edits (
    id BIGINT NOT NULL,
    site VARCHAR NOT NULL,
    depth_cm DOUBLE,
    flag VARCHAR NOT NULL,
    "from" TIMESTAMPTZ NOT NULL,
    "to" TIMESTAMPTZ NOT NULL,
    action VARCHAR NOT NULL,
    author VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    made_at TIMESTAMPTZ NOT NULL,
    undone_at TIMESTAMPTZ,
    undone_by VARCHAR
)
