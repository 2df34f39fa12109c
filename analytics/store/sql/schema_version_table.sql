CREATE TABLE schema_version (version INTEGER NOT NULL)
