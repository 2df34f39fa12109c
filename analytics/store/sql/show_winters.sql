-- What each off-season of one site put back into a zone, first one first. An off-season whose
-- change is not known in every layer of the zone keeps an empty figure.
SELECT "from", "to", any_value(crop) AS crop, bool_or(open) AS open, bool_or(standing) AS standing,
       CASE WHEN count(change_mm) = count(*) THEN
           sum(change_mm * (least(bottom_cm, $below_cm) - greatest(top_cm, $above_cm))
               / (bottom_cm - top_cm)) END AS change_mm
FROM tally
WHERE site = $site AND depth_cm IS NOT NULL AND "from" <= $date::DATE
  AND bottom_cm > $above_cm AND top_cm < $below_cm
GROUP BY "from", "to"
ORDER BY "from"
