-- Versions of points that a person set: the columns of the result table limits, who made each
-- and when, whether learning may ever be taken over it, and who took it back and why.
CREATE TABLE set_limits (
    site VARCHAR,
    placement BIGINT,
    depth_cm DOUBLE,
    point VARCHAR,
    value DOUBLE,
    sd DOUBLE,
    state VARCHAR,
    valid_from DATE,
    set_by VARCHAR,
    reason VARCHAR,
    wettings BIGINT,
    ponded BOOLEAN,
    id BIGINT,
    made_at TIMESTAMPTZ,
    pinned BOOLEAN,
    reverted_at TIMESTAMPTZ,
    reverted_by VARCHAR,
    reverted_why VARCHAR
)
