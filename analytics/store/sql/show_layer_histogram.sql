-- params: site text, depth_cm number, placement integer, step number
-- How many days one layer stood at each water content, in steps, in one placement.
SELECT floor(state / $step::DOUBLE) * $step::DOUBLE AS low, count(*) AS days
FROM daily
WHERE site = $site AND depth_cm = $depth_cm::DOUBLE AND placement = $placement::BIGINT
  AND isfinite(state)
GROUP BY ALL
ORDER BY low
