-- Versions of crop coefficients and stage lengths that a person set; field '' for every field.
CREATE TABLE coefficients (
    id BIGINT NOT NULL,
    crop VARCHAR NOT NULL,
    field VARCHAR NOT NULL,
    kc_ini DOUBLE NOT NULL,
    kc_mid DOUBLE NOT NULL,
    kc_end DOUBLE NOT NULL,
    stages_d BIGINT[] NOT NULL,
    author VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    made_at TIMESTAMPTZ NOT NULL,
    undone_at TIMESTAMPTZ,
    undone_by VARCHAR
)
