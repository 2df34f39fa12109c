-- The zones of every field on a date, one row a site and zone.
SELECT *
FROM readiness
WHERE zone <> 'layer'
  AND date BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
QUALIFY date = max(date) OVER (PARTITION BY site)
ORDER BY site, zone
