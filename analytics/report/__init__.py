"""Tables and results written out: CSV, JSON, Parquet, GeoJSON, GeoPackage."""
