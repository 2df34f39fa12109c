-- Wettings of one site that began in a stretch of days, and the share of what came that stayed.
SELECT *, stored_mm / nullif(applied_mm, 0) AS stayed
FROM wettings
WHERE site = $site AND start BETWEEN $start::DATE AND $date::DATE
ORDER BY start
