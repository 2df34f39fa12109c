-- Sites whose inputs changed since their results were made; `number` tells changes that an
-- assessment had seen from those that came while it ran.
CREATE TABLE touched (
    number BIGINT NOT NULL,
    site VARCHAR NOT NULL
)
