SELECT DISTINCT site AS subject FROM sites
WHERE NOT EXISTS (FROM layers WHERE layers.site = sites.site)
ORDER BY site
