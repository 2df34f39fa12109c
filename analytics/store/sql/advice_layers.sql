-- params: date date, window_days integer
-- Every layer's water on the latest day of each site, the day on which it was read, and whether frost hid it.
SELECT site, depth_cm, top_cm, bottom_cm, "date", water_mm, read_on, held
FROM readiness
WHERE zone = 'layer' AND "date" BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
QUALIFY "date" = max("date") OVER (PARTITION BY site)
ORDER BY site, depth_cm
