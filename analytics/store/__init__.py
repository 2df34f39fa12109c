"""The only home of DuckDB and of the Parquet parts."""
