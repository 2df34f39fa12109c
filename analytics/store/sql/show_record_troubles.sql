-- params: date date, since_days integer, least_hours number, lost_hours number
-- What is wrong on a day, a row a sensor: silent, a flag that still holds, or many hours lost lately, or a full point
-- that drifts beyond noise from season to season.
WITH newest AS (
    SELECT site, max(date) AS last_day, arg_max(placement, date) AS placement
    FROM daily
    GROUP BY site
)
SELECT site, 'silent' AS kind, depth_cm, "from" AS since, epoch("to" - "from") / 3600 AS hours
FROM gaps
WHERE reason = 'silent'
UNION ALL
SELECT f.site, f.flag, f.depth_cm, f."from", epoch(f."to" - f."from") / 3600
FROM flags f
JOIN newest n ON n.site = f.site
WHERE f.flag IN ('failing', 'stuck', 'range', 'unit', 'clock', 'settling')
  AND f."to" >= n.last_day::TIMESTAMP - INTERVAL 1 DAY
UNION ALL
SELECT site, 'gaps', depth_cm, min("from"), sum(epoch("to" - "from") / 3600)
FROM gaps
WHERE reason = 'no readings' AND "to" > $date::DATE - $since_days::INTEGER
  AND epoch("to" - "from") / 3600 > $least_hours
GROUP BY site, depth_cm
HAVING sum(epoch("to" - "from") / 3600) >= $lost_hours
UNION ALL
SELECT d.site, 'drifting', d.depth_cm, NULL, 0
FROM drift d
JOIN newest n ON n.site = d.site AND n.placement = d.placement
WHERE d.beyond_noise AND d.point = 'full'
ORDER BY site, kind, depth_cm
