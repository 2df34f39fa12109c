-- params: date date, window_days integer
-- Every layer's water on the latest day of each site, and the day on which it was read.
SELECT site, depth_cm, top_cm, bottom_cm, "date", water_mm, read_on
FROM readiness
WHERE zone = 'layer' AND "date" BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
QUALIFY "date" = max("date") OVER (PARTITION BY site)
ORDER BY site, depth_cm
