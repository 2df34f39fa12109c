-- Frozen days of one site in a stretch of days, and how deep the frost went.
SELECT count(DISTINCT date) AS frozen_days, max(bottom_cm) AS deepest_cm,
       max(date) AS last_frozen
FROM frost
WHERE site = $site AND date BETWEEN $start::DATE AND $date::DATE
