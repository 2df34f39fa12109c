-- Every off-season of one site, whole profile and layers, latest first.
SELECT *
FROM tally
WHERE site = $site AND "from" <= $date::DATE
ORDER BY "from" DESC, depth_cm NULLS FIRST
