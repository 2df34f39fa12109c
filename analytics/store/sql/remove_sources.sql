DELETE FROM sources
USING leaving
WHERE sources.source = leaving.source
RETURNING sources.source
