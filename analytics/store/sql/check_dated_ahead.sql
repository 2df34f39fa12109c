-- Water and weather of days that are still to come.
SELECT 'Water of field ' || field AS subject, max(date) AS until FROM water
WHERE date > current_date
GROUP BY field
UNION ALL
SELECT 'Weather of station ' || station, max(date) FROM weather
WHERE date > current_date
GROUP BY station
ORDER BY subject
