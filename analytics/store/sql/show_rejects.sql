-- Rows that could not be taken, each with its file, newest import first.
SELECT
    imports.file, rejects.line, rejects."column", rejects."value", rejects.reason,
    rejects.import, imports.made_at
FROM rejects
JOIN imports ON imports.id = rejects.import
ORDER BY rejects.import DESC, rejects.line
