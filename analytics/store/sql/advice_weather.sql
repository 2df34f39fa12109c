-- params: station text, until date
-- One station's whole weather.
SELECT "date", tmin_c, tmax_c, rain_mm, snow_mm, wind_m_s, rs_mj_m2, tdew_c, rh_min, rh_max
FROM weather
WHERE station = $station AND "date" <= $until::DATE
ORDER BY "date"
