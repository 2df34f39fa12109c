-- params: fields texts, stations texts, date date, gauge_days integer
-- What was put on each field: under its last crop, and since the harvest; and what fell since: its
-- own gauge's, and that of the station named for it on days of which the gauge does not tell: those
-- without a row, where rows of it stand more than $gauge_days apart. As in the tally, from the day of
-- the harvest to that before the one looked at: both are read before dawn.
WITH near AS (
    SELECT unnest($fields::VARCHAR[]) AS field, unnest($stations::VARCHAR[]) AS station
),
had AS (
    SELECT field, planted_on, harvested_on
    FROM seasons
    WHERE planted_on <= $date::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on DESC) = 1
),
own AS (
    SELECT h.field,
           sum(w.mm) FILTER (WHERE w.kind = 'irrigation'
               AND w.date < coalesce(h.harvested_on, $date::DATE + 1)) AS crop_mm,
           sum(w.mm) FILTER (WHERE w.kind = 'irrigation'
               AND w.date >= h.harvested_on AND w.date < $date::DATE) AS since_mm,
           sum(w.mm) FILTER (WHERE w.kind <> 'irrigation'
               AND w.date >= h.harvested_on AND w.date < $date::DATE) AS fell_mm
    FROM had h
    JOIN water w ON w.field = h.field AND w.date BETWEEN h.planted_on AND $date::DATE
    GROUP BY h.field
),
told AS (
    SELECT field, date, lead(date) OVER (PARTITION BY field ORDER BY date) AS next
    FROM (SELECT DISTINCT field, date FROM water WHERE kind <> 'irrigation')
),
gauge AS (
    SELECT t.field, t.date AS first,
           CASE WHEN t.next - t.date <= $gauge_days THEN t.next ELSE t.date END AS last
    FROM told t
    JOIN had h ON h.field = t.field AND coalesce(t.next, t.date) >= h.harvested_on
),
there AS (
    SELECT h.field, sum(coalesce(w.rain_mm, 0) + coalesce(w.snow_mm, 0)) AS fell_mm
    FROM had h
    JOIN near n ON n.field = h.field
    JOIN weather w ON w.station = n.station AND w.date >= h.harvested_on AND w.date < $date::DATE
    ANTI JOIN gauge g ON g.field = h.field AND w.date BETWEEN g.first AND g.last
    GROUP BY h.field
)
SELECT h.field, o.crop_mm, o.since_mm,
       coalesce(o.fell_mm + t.fell_mm, o.fell_mm, t.fell_mm) AS fell_mm
FROM had h
LEFT JOIN own o ON o.field = h.field
LEFT JOIN there t ON t.field = h.field
ORDER BY h.field
