-- The sensors of one site that ever read.
SELECT DISTINCT depth_cm
FROM daily
WHERE site = $site
ORDER BY depth_cm
