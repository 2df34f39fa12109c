-- What was put on each field: under its last crop, and since the harvest; and what fell since.
WITH had AS (
    SELECT field, planted_on, harvested_on
    FROM seasons
    WHERE planted_on <= $date::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on DESC) = 1
)
SELECT h.field,
       sum(w.mm) FILTER (WHERE w.kind = 'irrigation'
           AND w.date <= coalesce(h.harvested_on, $date::DATE)) AS crop_mm,
       sum(w.mm) FILTER (WHERE w.kind = 'irrigation' AND w.date > h.harvested_on) AS since_mm,
       sum(w.mm) FILTER (WHERE w.kind <> 'irrigation' AND w.date > h.harvested_on) AS fell_mm
FROM had h
JOIN water w ON w.field = h.field AND w.date BETWEEN h.planted_on AND $date::DATE
GROUP BY h.field
ORDER BY h.field
