-- How far each web service has been read, so that the next pull fetches only what is new.
CREATE TABLE cursors (
    service VARCHAR NOT NULL,
    "cursor" JSON NOT NULL,
    saved_at TIMESTAMPTZ NOT NULL
)
