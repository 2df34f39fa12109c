-- Every past forecast, with what happened.
SELECT *
FROM forecasts
ORDER BY site, kind, "from", zone
