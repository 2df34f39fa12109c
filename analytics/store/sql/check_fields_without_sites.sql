SELECT field AS subject FROM fields
WHERE NOT EXISTS (FROM sites WHERE sites.field = fields.field)
ORDER BY field
