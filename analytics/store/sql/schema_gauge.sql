-- A logger's own weather readings, so that a day can be made of several deliveries.
CREATE TABLE gauge (
    station VARCHAR NOT NULL,
    "time" TIMESTAMPTZ NOT NULL,
    quantity VARCHAR NOT NULL,
    value DOUBLE NOT NULL
)
