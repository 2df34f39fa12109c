-- Every table and view of the store with the names of its columns.
SELECT table_name, list(column_name)
FROM information_schema.columns
WHERE table_catalog = 'overwinter' AND table_schema = 'main'
GROUP BY table_name
ORDER BY table_name
