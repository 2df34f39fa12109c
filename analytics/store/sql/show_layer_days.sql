-- params: site text, depth_cm number
-- The daily values of one layer, with the placement of each day.
SELECT date::TIMESTAMP AS time, placement, state AS value, low, high
FROM daily
WHERE site = $site AND depth_cm = $depth_cm::DOUBLE
ORDER BY date
