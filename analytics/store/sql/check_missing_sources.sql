SELECT DISTINCT source AS subject FROM fields
WHERE source IS NOT NULL AND NOT EXISTS (FROM sources WHERE sources.source = fields.source)
ORDER BY source
