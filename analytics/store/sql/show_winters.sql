-- What each off-season of one site put back into a zone, first one first. An off-season whose
-- change is not known in every layer of the zone keeps an empty figure.
WITH bounds AS (
    SELECT arg_max(top_cm, date) AS top_cm, arg_max(bottom_cm, date) AS bottom_cm
    FROM readiness
    WHERE site = $site AND zone = $zone
)
SELECT "from", "to", any_value(crop) AS crop, bool_or(open) AS open, bool_or(standing) AS standing,
       CASE WHEN count(change_mm) = count(*) THEN
           sum(change_mm * (least(t.bottom_cm, b.bottom_cm) - greatest(t.top_cm, b.top_cm))
               / (t.bottom_cm - t.top_cm)) END AS change_mm
FROM tally t
JOIN bounds b ON t.bottom_cm > b.top_cm AND t.top_cm < b.bottom_cm
WHERE site = $site AND depth_cm IS NOT NULL AND "from" <= $date::DATE
GROUP BY "from", "to"
ORDER BY "from"
