-- Gaps of one site that touch a stretch of days.
SELECT depth_cm, "from", "to", reason
FROM gaps
WHERE site = $site AND "to" >= $start::DATE AND "from" < $date::DATE + 1
ORDER BY depth_cm, "from"
