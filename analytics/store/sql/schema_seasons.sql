CREATE TABLE seasons (
    field VARCHAR NOT NULL,
    crop VARCHAR NOT NULL,
    planted_on DATE NOT NULL,
    harvested_on DATE,
    emerged_on DATE,
    matured_on DATE
)
