-- params: sites texts
SELECT site, field, latitude, longitude, timezone, installed_on, removed_on
FROM sites
WHERE list_contains($sites::VARCHAR[], site)
ORDER BY site, installed_on NULLS FIRST
