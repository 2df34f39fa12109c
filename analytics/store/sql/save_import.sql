-- params: file text, sha256 text, mapping text, kind text, made_at time, rows_in integer, taken integer, identical integer, superseded integer, rejected integer, sites texts
INSERT INTO imports
SELECT
    nextval('import_numbers'), $file, $sha256, $mapping, $kind, $made_at,
    $rows_in, $taken, $identical, $superseded, $rejected, $sites::VARCHAR[]
RETURNING id
