SELECT DISTINCT site AS subject FROM sites
WHERE NOT EXISTS (FROM fields WHERE fields.field = sites.field)
ORDER BY site
