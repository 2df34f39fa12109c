SELECT DISTINCT sites.field AS subject FROM sites
WHERE NOT EXISTS (FROM seasons WHERE seasons.field = sites.field)
ORDER BY subject
