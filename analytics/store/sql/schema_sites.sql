CREATE TABLE sites (
    site VARCHAR NOT NULL,
    field VARCHAR NOT NULL,
    latitude DOUBLE NOT NULL,
    longitude DOUBLE NOT NULL,
    timezone VARCHAR NOT NULL,
    installed_on DATE,
    removed_on DATE
)
