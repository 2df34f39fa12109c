CREATE TABLE layers (
    site VARCHAR NOT NULL,
    depth_cm DOUBLE NOT NULL,
    top_cm DOUBLE,
    bottom_cm DOUBLE,
    texture VARCHAR,
    "full" DOUBLE,
    refill DOUBLE,
    lower DOUBLE,
    limits_from DATE,
    limits_by VARCHAR,
    sand DOUBLE,
    silt DOUBLE,
    clay DOUBLE
)
