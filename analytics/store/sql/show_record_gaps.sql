-- params: site text, least_hours number
-- Gaps of one site longer than so many hours, sensors that miss the same stretch in one row.
-- What is shorter, and what frost kept from being read, is counted in the window sums only.
WITH counted AS (
    SELECT *, epoch("to" - "from") / 3600 AS length_h,
           count(*) FILTER (WHERE epoch("to" - "from") / 3600 <= $least_hours) OVER () AS brief,
           count(*) FILTER (WHERE reason = 'frozen') OVER () AS frozen
    FROM gaps
    WHERE site = $site
)
SELECT "from", "to", reason, min(depth_cm) AS top_cm, max(depth_cm) AS bottom_cm,
       count(*) AS sensors, any_value(length_h) AS hours, any_value(brief) AS brief,
       any_value(frozen) AS frozen
FROM counted
WHERE length_h > $least_hours AND reason <> 'frozen'
GROUP BY "from", "to", reason
ORDER BY "from" DESC
