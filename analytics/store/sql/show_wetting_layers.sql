-- The layers that the wettings of one site reached, downwards, in a stretch of days.
SELECT *
FROM wetting_layers
WHERE site = $site AND start BETWEEN $start::DATE AND $date::DATE
ORDER BY start, depth_cm
