-- Words of the landing page that a person put aside, and why.
CREATE TABLE dismissals (
    field VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    since DATE NOT NULL,
    author VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    made_at TIMESTAMPTZ NOT NULL
)
