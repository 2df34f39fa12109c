-- Versions of points that a person set: the columns of the result table limits.
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
    ponded BOOLEAN
)
