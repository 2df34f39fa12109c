SELECT max(version) FROM schema_version
