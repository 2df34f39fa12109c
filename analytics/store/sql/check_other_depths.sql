-- Probes that were put back with sensors at other depths: depths that read before and do not since, beside new ones.
WITH moved AS (
    SELECT site FROM sites GROUP BY site HAVING count(*) > 1
), sensed AS (
    SELECT site, placement, depth_cm, max(date) AS last_day
    FROM daily
    WHERE site IN (SELECT site FROM moved) AND good > 0
    GROUP BY site, placement, depth_cm
), latest AS (
    SELECT site, arg_max(placement, last_day) AS placement FROM sensed GROUP BY site
), sets AS (
    SELECT s.site,
           list(DISTINCT depth_cm) FILTER (WHERE s.placement = l.placement) AS now_cm,
           list(DISTINCT depth_cm) FILTER (WHERE s.placement <> l.placement) AS before_cm
    FROM sensed s
    JOIN latest l ON l.site = s.site
    GROUP BY s.site
)
SELECT site, len(before_cm) - len(list_intersect(before_cm, now_cm)) AS silent
FROM sets
WHERE len(list_intersect(before_cm, now_cm)) < least(len(before_cm), len(now_cm))
ORDER BY site
