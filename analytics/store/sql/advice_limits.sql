-- Every version of every point.
SELECT *
FROM limits
ORDER BY site, placement, depth_cm, point, valid_from
