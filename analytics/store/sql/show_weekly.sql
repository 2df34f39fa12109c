-- Fill of each layer of one site by week, against the points of its placement.
WITH points AS (
    SELECT placement, depth_cm,
           arg_max(value, valid_from) FILTER (WHERE point = 'full') AS full_theta,
           arg_max(value, valid_from) FILTER (WHERE point = 'lower') AS lower_theta
    FROM limits
    WHERE site = $site
    GROUP BY placement, depth_cm
),
bounds AS (
    SELECT depth_cm, top_cm, bottom_cm
    FROM readiness
    WHERE site = $site AND zone = 'layer'
    QUALIFY row_number() OVER (PARTITION BY depth_cm ORDER BY date DESC) = 1
)
SELECT time_bucket(INTERVAL 7 DAY, d.date)::DATE AS date, d.depth_cm,
       any_value(b.top_cm) AS top_cm, any_value(b.bottom_cm) AS bottom_cm,
       avg((d.state - p.lower_theta) / nullif(p.full_theta - p.lower_theta, 0)) AS fill,
       bool_or(d.held) AS held,
       count(d.state) AS days_seen
FROM daily d
JOIN bounds b ON b.depth_cm = d.depth_cm
LEFT JOIN points p ON p.placement = d.placement AND p.depth_cm = d.depth_cm
WHERE d.site = $site AND d.date BETWEEN $start::DATE AND $date::DATE
GROUP BY time_bucket(INTERVAL 7 DAY, d.date), d.depth_cm
ORDER BY d.depth_cm, date
