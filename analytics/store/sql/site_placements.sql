-- params: site text
SELECT site, field, latitude, longitude, timezone, installed_on, removed_on
FROM sites
WHERE site = $site
ORDER BY installed_on NULLS FIRST
