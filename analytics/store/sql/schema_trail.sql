-- Who changed or took away what on a shared server.
CREATE TABLE trail (
    made_at TIMESTAMPTZ NOT NULL,
    who VARCHAR NOT NULL,
    what VARCHAR NOT NULL,
    about VARCHAR
)
