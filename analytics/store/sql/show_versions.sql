-- Every version of every point of one site, in all its placements.
SELECT *
FROM limits
WHERE site = $site
ORDER BY placement, depth_cm, point, valid_from
