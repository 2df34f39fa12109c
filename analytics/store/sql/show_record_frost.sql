-- First and last frozen day of each site's winters; a winter is named by the year it ends in.
SELECT site, year(date + 184) AS winter, min(date) AS first_day, max(date) AS last_day
FROM frost
WHERE date <= $date::DATE
GROUP BY site, year(date + 184)
ORDER BY site, winter
