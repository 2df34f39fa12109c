-- Gaps that a later file filled: sensor, last reading before and first after, and the file's import.
CREATE TABLE filled (
    import BIGINT NOT NULL,
    site VARCHAR NOT NULL,
    depth_cm DOUBLE NOT NULL,
    "from" TIMESTAMPTZ NOT NULL,
    "to" TIMESTAMPTZ NOT NULL,
    readings BIGINT NOT NULL
)
