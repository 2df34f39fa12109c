-- params: sites texts, until date
-- The stays of each probe in a hole, none that is only planned by a day (but for a probe's first).
SELECT site, field, latitude, longitude, timezone, installed_on, removed_on
FROM sites
WHERE list_contains($sites::VARCHAR[], site)
QUALIFY coalesce(installed_on <= $until::DATE, true)
     OR row_number() OVER (PARTITION BY site ORDER BY installed_on NULLS FIRST) = 1
ORDER BY site, installed_on NULLS FIRST
