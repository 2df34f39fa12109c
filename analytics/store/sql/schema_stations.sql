CREATE TABLE stations (
    station VARCHAR NOT NULL,
    latitude DOUBLE NOT NULL,
    longitude DOUBLE NOT NULL,
    elevation_m DOUBLE
)
