-- params: site text
SELECT site, placement, depth_cm, point, value, sd, state, valid_from, set_by, reason,
       wettings, ponded
FROM set_limits
WHERE site = $site AND reverted_at IS NULL
ORDER BY valid_from, id
