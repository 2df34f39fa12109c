-- Every table and view of the store with the names of its columns.
SELECT table_catalog, table_name, list(column_name)
FROM information_schema.columns
WHERE table_catalog = current_database() AND table_schema = 'main'
GROUP BY table_catalog, table_name
ORDER BY table_name
