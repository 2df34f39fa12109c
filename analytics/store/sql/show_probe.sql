-- The stays of one site's probe, latest last, and the span of its daily values.
SELECT s.site, s.installed_on, s.removed_on, s.timezone, s.latitude,
       (SELECT min(date) FROM daily WHERE site = $site) AS first_day,
       (SELECT max(date) FROM daily WHERE site = $site) AS last_day
FROM sites s
WHERE s.site = $site
ORDER BY s.installed_on
