-- Water and weather of days that are still to come; rows that were set to nought or emptied say nothing.
SELECT 'Water of field ' || field AS subject, max(date) AS until FROM water
WHERE date > current_date AND mm > 0
GROUP BY field
UNION ALL
SELECT 'Weather of station ' || station, max(date) FROM weather
WHERE date > current_date
  AND coalesce(tmin_c, tmax_c, nullif(rain_mm, 0), nullif(snow_mm, 0), wind_m_s, rs_mj_m2, tdew_c, rh_min, rh_max) IS NOT NULL
GROUP BY station
ORDER BY subject
