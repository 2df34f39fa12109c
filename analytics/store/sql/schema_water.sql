CREATE TABLE water (
    field VARCHAR NOT NULL,
    "date" DATE NOT NULL,
    kind VARCHAR NOT NULL,
    mm DOUBLE NOT NULL
)
