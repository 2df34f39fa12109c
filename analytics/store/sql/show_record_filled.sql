-- Gaps of one site that later files filled, sensors filled alike in one row.
SELECT f."from", f."to", min(f.depth_cm) AS top_cm, max(f.depth_cm) AS bottom_cm,
       count(*) AS sensors, i.file, i.made_at
FROM filled f
JOIN imports i ON i.id = f."import"
WHERE f.site = $site
GROUP BY f."from", f."to", i.file, i.made_at
ORDER BY f."from" DESC
