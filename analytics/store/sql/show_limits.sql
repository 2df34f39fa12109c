-- The points in force of one site: those of its latest placement, one row a layer.
SELECT depth_cm, placement,
       arg_max(value, valid_from) FILTER (WHERE point = 'full') AS "full",
       arg_max(value, valid_from) FILTER (WHERE point = 'refill') AS refill,
       arg_max(value, valid_from) FILTER (WHERE point = 'lower') AS lower,
       arg_max(sd, valid_from) FILTER (WHERE point = 'full') AS full_sd,
       arg_max(state, valid_from) FILTER (WHERE point = 'full') AS state,
       arg_max(wettings, valid_from) FILTER (WHERE point = 'full') AS wettings
FROM limits
WHERE site = $site
  AND placement = (
      SELECT placement FROM limits WHERE site = $site
      GROUP BY placement ORDER BY min(valid_from) DESC, placement DESC LIMIT 1
  )
GROUP BY depth_cm, placement
ORDER BY depth_cm
