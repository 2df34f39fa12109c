-- The layers of one site on each planting day and on the latest day kept up to a date.
SELECT r.*, s.crop
FROM readiness r
LEFT JOIN seasons s ON s.field = r.field AND s.planted_on = r.date
WHERE r.site = $site AND r.zone = 'layer' AND r.date <= $date::DATE
  AND (s.planted_on IS NOT NULL
       OR r.date = (SELECT max(date) FROM readiness
                    WHERE site = $site AND date <= $date::DATE))
ORDER BY r.date, r.depth_cm
