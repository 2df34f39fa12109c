-- params: version integer
INSERT INTO schema_version VALUES ($version)
