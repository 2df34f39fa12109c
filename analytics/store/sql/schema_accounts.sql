-- Who may look in on a shared server, as what; growers: whose fields a grower sees.
CREATE TABLE accounts (
    email VARCHAR NOT NULL,
    role VARCHAR NOT NULL,
    growers VARCHAR[] NOT NULL,
    given_at TIMESTAMPTZ NOT NULL
)
