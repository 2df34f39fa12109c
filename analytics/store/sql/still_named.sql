-- Fields, probes and stations that are not in the store, though rows name them.
SELECT 'field' AS kind, field AS id, named_in, count(*) AS rows
FROM (
    SELECT field, 'sites' AS named_in FROM sites
    UNION ALL SELECT field, 'seasons' FROM seasons
    UNION ALL SELECT field, 'water' FROM water
)
WHERE field NOT IN (SELECT field FROM fields)
GROUP BY field, named_in
UNION ALL
SELECT 'site', site, 'layers', count(*) FROM layers
WHERE site NOT IN (SELECT site FROM sites)
GROUP BY site
UNION ALL
SELECT 'station', station, 'weather', count(*) FROM weather
WHERE station NOT IN (SELECT station FROM stations)
GROUP BY station
ORDER BY id, named_in
