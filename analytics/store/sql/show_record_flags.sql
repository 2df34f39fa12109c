-- Flagged spans of one site, newest first, sensors flagged alike in one row.
SELECT flag, "from", "to", min(depth_cm) AS top_cm, max(depth_cm) AS bottom_cm,
       count(*) AS sensors, string_agg(depth_cm::VARCHAR, ',' ORDER BY depth_cm) AS depths,
       min(depth_cm) AS depth_cm, sum(readings)::BIGINT AS readings
FROM flags
WHERE site = $site
GROUP BY flag, "from", "to"
ORDER BY "from" DESC, flag, "to" DESC
