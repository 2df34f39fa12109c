-- Every layer of every site on a date: what the cores are drawn from.
SELECT *
FROM readiness
WHERE zone = 'layer'
  AND date BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
QUALIFY date = max(date) OVER (PARTITION BY site)
ORDER BY site, depth_cm
