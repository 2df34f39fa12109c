CREATE TABLE sources (
    source VARCHAR NOT NULL,
    name VARCHAR,
    capacity_l_s DOUBLE,
    allocation_mm DOUBLE,
    efficiency DOUBLE,
    max_pass_mm DOUBLE,
    available_from DATE,
    available_until DATE
)
