-- params: sites texts
SELECT site, placement, depth_cm, point, value, sd, state, valid_from, set_by, reason,
       wettings, ponded
FROM set_limits
WHERE list_contains($sites::VARCHAR[], site) AND reverted_at IS NULL
ORDER BY site, valid_from, id
