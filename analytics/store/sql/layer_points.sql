-- params: site text, placement integer, depth_cm number
-- The points in force of one layer in one placement: no row where there is no such layer.
SELECT arg_max(value, valid_from) FILTER (WHERE point = 'full') AS "full",
       arg_max(value, valid_from) FILTER (WHERE point = 'refill') AS refill,
       arg_max(value, valid_from) FILTER (WHERE point = 'lower') AS lower
FROM limits
WHERE site = $site AND placement = $placement::BIGINT AND depth_cm = $depth_cm::DOUBLE
HAVING count(*) > 0
