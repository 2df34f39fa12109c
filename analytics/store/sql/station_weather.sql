-- params: station text, until date
SELECT "date", tmin_c, tmax_c, rain_mm, snow_mm
FROM weather
WHERE station = $station AND "date" <= $until::DATE
ORDER BY "date"
