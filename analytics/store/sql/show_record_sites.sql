-- One row a probe that is still in the ground on a day: its latest stay, and how far its record reaches.
WITH stays AS (
    SELECT *
    FROM sites
    WHERE coalesce(removed_on, DATE '9999-12-31') > $date::DATE
    QUALIFY row_number() OVER (PARTITION BY site ORDER BY installed_on DESC NULLS LAST) = 1
),
ends AS (
    SELECT site, min(date) AS first_day, max(date) AS last_day,
           count(DISTINCT depth_cm) AS sensors
    FROM daily
    GROUP BY site
)
SELECT s.site, s.field, coalesce(nullif(f.name, ''), s.field) AS name, s.latitude, s.longitude,
       s.timezone, s.installed_on, e.first_day, e.last_day, e.sensors
FROM stays s
LEFT JOIN fields f ON f.field = s.field
LEFT JOIN ends e ON e.site = s.site
ORDER BY name, s.site
