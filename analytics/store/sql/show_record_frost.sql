-- First and last frozen day of each site's winters; a winter is named by the year in which its twelve months begin.
SELECT site, year(date - to_months($month::INTEGER - 1)) AS winter, min(date) AS first_day, max(date) AS last_day
FROM frost
WHERE date <= $date::DATE
GROUP BY site, year(date - to_months($month::INTEGER - 1))
ORDER BY site, winter
