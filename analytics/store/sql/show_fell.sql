-- Rain and snow at each field's station since its last harvest, on days that its own gauge did not tell of.
-- params: fields texts, stations texts, date date
WITH near AS (
    SELECT unnest($fields::VARCHAR[]) AS field, unnest($stations::VARCHAR[]) AS station
),
had AS (
    SELECT field, harvested_on
    FROM seasons
    WHERE planted_on <= $date::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on DESC) = 1
),
gauge AS (
    SELECT field, min(date) AS first, max(date) AS last
    FROM water
    WHERE kind <> 'irrigation'
    GROUP BY field
)
SELECT h.field, sum(coalesce(w.rain_mm, 0) + coalesce(w.snow_mm, 0)) AS fell_mm
FROM had h
JOIN near n ON n.field = h.field
JOIN weather w ON w.station = n.station AND w.date > h.harvested_on AND w.date <= $date::DATE
LEFT JOIN gauge g ON g.field = h.field
WHERE g.field IS NULL OR w.date NOT BETWEEN g.first AND g.last
GROUP BY h.field
ORDER BY h.field
