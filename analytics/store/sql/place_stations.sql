-- params: stations texts
-- A logger that measures weather is a station where its probe stands.
INSERT INTO stations
SELECT site, last(latitude ORDER BY installed_on), last(longitude ORDER BY installed_on), NULL
FROM sites
WHERE list_contains($stations::VARCHAR[], site)
    AND NOT EXISTS (FROM stations AS known WHERE known.station = sites.site)
GROUP BY site
