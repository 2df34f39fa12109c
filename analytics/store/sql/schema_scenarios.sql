-- Changes to the plan that a person named, to be opened again.
CREATE TABLE scenarios (
    name VARCHAR NOT NULL,
    told JSON NOT NULL,
    author VARCHAR NOT NULL,
    made_at TIMESTAMPTZ NOT NULL
)
