-- Water held by a zone of one site every third day, in years that begin on the calendar day of
-- the field's last harvest (where none is known, a year before the date). Days on which a
-- layer of the zone was not read stay out.
WITH bounds AS (
    SELECT depth_cm, least(bottom_cm, $below_cm) - greatest(top_cm, $above_cm) AS zone_cm
    FROM readiness
    WHERE site = $site AND zone = 'layer'
      AND bottom_cm > $above_cm AND top_cm < $below_cm
    QUALIFY row_number() OVER (PARTITION BY depth_cm ORDER BY date DESC) = 1
),
points AS (
    SELECT placement, depth_cm, arg_max(value, valid_from) AS full_theta
    FROM limits
    WHERE site = $site AND point = 'full'
    GROUP BY placement, depth_cm
),
days AS (
    SELECT d.date, sum(d.state * b.zone_cm * 10) AS water_mm,
           sum(p.full_theta * b.zone_cm * 10) AS full_mm
    FROM daily d
    JOIN bounds b ON b.depth_cm = d.depth_cm
    LEFT JOIN points p ON p.placement = d.placement AND p.depth_cm = d.depth_cm
    WHERE d.site = $site AND d.date <= $date::DATE
    GROUP BY d.date
    HAVING count(d.state) = (SELECT count(*) FROM bounds)
),
anchor AS (
    SELECT coalesce(max(harvested_on) FILTER (WHERE harvested_on <= $date::DATE),
                    $date::DATE - 364) AS harvest
    FROM seasons
    WHERE field = $field
),
years AS (
    SELECT (harvest + to_years(k::INTEGER))::DATE AS opens_on,
           (harvest + to_years(k::INTEGER + 1))::DATE AS closes_on
    FROM anchor, range(-20, 5) AS steps(k)
)
SELECT y.opens_on, d.date, d.date - y.opens_on AS day, d.water_mm, d.full_mm,
       $date::DATE >= y.opens_on AND $date::DATE < y.closes_on AS current
FROM days d
JOIN years y ON d.date >= y.opens_on AND d.date < y.closes_on
WHERE (d.date - y.opens_on) % 3 = 0
ORDER BY y.opens_on, d.date
