SELECT 1 FROM duckdb_tables() WHERE table_name = 'schema_version'
