-- Water held by a zone of one site every third day, in years that begin with a month. Days on
-- which a layer of the zone was not read stay empty, so that a line breaks there.
WITH own AS (
    SELECT zone, depth_cm, arg_max(top_cm, date) AS top_cm, arg_max(bottom_cm, date) AS bottom_cm
    FROM readiness
    WHERE site = $site AND zone IN ('layer', $zone)
    GROUP BY zone, depth_cm
),
bounds AS (
    SELECT l.depth_cm,
           least(l.bottom_cm, z.bottom_cm) - greatest(l.top_cm, z.top_cm) AS zone_cm
    FROM own l
    JOIN own z ON z.zone = $zone AND l.bottom_cm > z.top_cm AND l.top_cm < z.bottom_cm
    WHERE l.zone = 'layer'
),
points AS (
    SELECT placement, depth_cm, arg_max(value, valid_from) AS full_theta
    FROM limits
    WHERE site = $site AND point = 'full'
    GROUP BY placement, depth_cm
),
days AS (
    SELECT d.date,
           CASE WHEN count(d.state) = (SELECT count(*) FROM bounds)
                THEN sum(d.state * b.zone_cm * 10) END AS water_mm,
           sum(p.full_theta * b.zone_cm * 10) AS full_mm,
           make_date(year(d.date - to_months($month::INTEGER - 1)), $month::INTEGER, 1) AS opens_on
    FROM daily d
    JOIN bounds b ON b.depth_cm = d.depth_cm
    LEFT JOIN points p ON p.placement = d.placement AND p.depth_cm = d.depth_cm
    WHERE d.site = $site AND d.date <= $date::DATE
    GROUP BY d.date
)
SELECT CASE WHEN $month::INTEGER = 1 THEN year(opens_on)::VARCHAR
            ELSE year(opens_on) || '–' || right((year(opens_on) + 1)::VARCHAR, 2) END AS season,
       date - opens_on AS day, date, water_mm, full_mm,
       year(opens_on) = year($date::DATE - to_months($month::INTEGER - 1)) AS current
FROM days
WHERE (date - opens_on) % 3 = 0
ORDER BY date
