-- Every day on which one site's ground was frozen, until a day.
SELECT site, date, top_cm, bottom_cm
FROM frost
WHERE site = $site AND date <= $date::DATE
ORDER BY date
